#!/bin/sh
# The same work in this engine and in two other libraries: see compare.py, which gets the arguments.
set -eu
here=$(CDPATH= cd -- "$(dirname -- "$0")" && pwd)
. "$here/venv.sh"
exec "$venv/bin/python" "$here/compare.py" "$@"
