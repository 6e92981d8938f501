#!/bin/sh
# Writes the three locks anew. Needs uv on the path (`pip install uv`); `--upgrade` takes the newest releases.
set -eu
cd "$(dirname "$0")/.."
lock() { # lock NAME ARGUMENTS...
    name=$1
    shift
    uv pip compile --quiet --no-config --universal --generate-hashes --python-version 3.11 \
        --default-index https://pypi.org/simple --custom-compile-command ".locks/regenerate.sh" \
        "$@" -o ".locks/$name.txt"
}
lock run pyproject.toml "$@"
lock tests --group pyproject.toml:tests -c .locks/run.txt "$@"
lock checks --group pyproject.toml:checks -c .locks/run.txt -c .locks/tests.txt "$@"
