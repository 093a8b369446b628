#!/bin/bash
# Resolve requirements.lock and requirements-extra.lock anew, for every CPython from 3.11 on and every platform.
# The resolver lives in a temporary environment; the locks hold names, versions and hashes, and no address.
#
# Usage: lock.sh PYTHON
set -euo pipefail
cd "$(dirname "$0")/.."

tools=$(mktemp -d)
trap 'rm -rf "$tools"' EXIT
"$1" -m venv "$tools"
"$tools/bin/python" -m pip --disable-pip-version-check install --quiet uv

resolve() {
    "$tools/bin/uv" pip compile pyproject.toml "$@" --quiet --universal --python-version 3.11 --generate-hashes \
        --no-emit-index-url --no-emit-find-links --no-header --no-annotate
}

resolve --group dev --upgrade --output-file requirements.lock
resolve --group extra --upgrade --constraints requirements.lock --output-file requirements-extra.lock

if grep -n '://' requirements.lock requirements-extra.lock; then
    echo "a lock holds an address" >&2
    exit 1
fi
