"""`python3 -m app [FILE]` and the command `loomwright`: opens the window."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from app import bootstrap
from core import __version__


def main(arguments: list[str] | None = None) -> int:
    """The exit code: 0 after the window was closed, 2 where it cannot open here."""
    options = parser().parse_args(arguments)
    bootstrap.enter("run")

    from app import preflight

    if options.check:
        from app.environment import report

        text, is_well = report()
        print(text)
        return 0 if is_well else 2
    if (sentence := preflight.problem()) is not None:
        bootstrap.say(sentence)
        return 2

    from app.main import run

    return run(options.file)


def parser() -> argparse.ArgumentParser:
    """The command line; answered before anything is installed or loaded."""
    words = argparse.ArgumentParser(
        prog="loomwright",
        description="Plans the wiring harness of a vehicle conversion before the wall panels go up.",
        epilog="Without the window: python3 -m core --help",
    )
    words.add_argument("file", nargs="?", type=Path, metavar="FILE", help="plan to open (.loomplan)")
    words.add_argument("--version", action="version", version=f"Loomwright {__version__}")
    words.add_argument("--check", action="store_true", help="print what this machine offers, for a bug report, and end")
    return words


if __name__ == "__main__":
    sys.exit(main())
