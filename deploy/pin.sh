#!/bin/sh
# For maintainers: compile both locks anew after a change of the dependencies in pyproject.toml.
# Universal from Python 3.11 up, hashed, without any address. Needs uv on the PATH.
set -eu
cd "$(dirname "$0")/.."
compile() {
    uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-annotate \
        --no-header --no-emit-index-url --no-emit-find-links "$@" pyproject.toml
}
compile --extra test --output-file deploy/lock-test.txt
compile --constraints deploy/lock-test.txt --output-file deploy/lock.txt
if grep -nE 'https?://|index-url|find-links' deploy/lock.txt deploy/lock-test.txt; then
    echo "A lock names an address; it must not." >&2
    exit 1
fi
