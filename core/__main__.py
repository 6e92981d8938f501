"""`python3 -m core`: the job without a window. First the environment, then the command."""

import sys

from app import bootstrap

if __name__ == "__main__":
    bootstrap.enter("run")

    from core.cli import main

    sys.exit(main(sys.argv[1:]))
