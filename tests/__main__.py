"""`python3 -m tests [pytest arguments]`: makes the environment where needed, then runs the tests in it."""

import os
import sys
from pathlib import Path

from app import bootstrap


def main() -> int:
    """The exit code of pytest."""
    bootstrap.enter("tests")

    from app import preflight

    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    if (problem := preflight.missing_libraries("offscreen")) is not None:
        bootstrap.say(problem)
        return 2

    import pytest

    root = Path(__file__).resolve().parent.parent
    return int(pytest.main(["--rootdir", str(root), "-c", str(root / "pyproject.toml"), *sys.argv[1:]]))


if __name__ == "__main__":
    sys.exit(main())
