#!/bin/bash
# Make an environment that holds exactly a lock and this project, editable. Needs a Python with pip, nothing else.
#
# Usage: venv.sh FOLDER LOCK PYTHON
#
# pip installs uv from the lock, by its hash, and uv installs the rest in seconds. Where uv cannot reach the packages
# (it reads none of pip's settings), pip installs them all. FOLDER/.made is the lock that the folder was made from.
set -euo pipefail
cd "$(dirname "$0")/.."
folder=$1 lock=$2 python=$3

if [ -x "$folder/bin/python" ] && cmp -s "$lock" "$folder/.made"; then
    touch "$folder/.made"
    exit 0
fi

if ! "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
    echo "Python 3.11 or later is needed, found $("$python" --version 2>&1); name another: make PYTHON=python3.12" >&2
    exit 1
fi

echo "Making $folder from $lock (some minutes when everything has to be downloaded)" >&2
"$python" -m venv --clear "$folder"
run="$folder/bin/python"
with_pip=("$run" -m pip --disable-pip-version-check install -qq --no-input)
with_uv=("$run" -m uv pip install --quiet --no-config --python "$run")

awk '/^uv==/ { on = 1 } on { print } on && !/\\$/ { exit }' "$lock" >"$folder/uv.lock"
"${with_pip[@]}" --require-hashes --no-deps --requirement "$folder/uv.lock"
"${with_uv[@]}" --require-hashes --requirement "$lock" || "${with_pip[@]}" --require-hashes --requirement "$lock"
"${with_pip[@]}" --no-deps --no-build-isolation --editable .
cp "$lock" "$folder/.made"
