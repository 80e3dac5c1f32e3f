#!/bin/sh
# Writes tests/peers/networks and tests/peers/fixtures anew: see make_networks.py, make_fixtures.py.
# Arguments, the names of networks, are passed on to both.
set -eu
here=$(CDPATH= cd -- "$(dirname -- "$0")" && pwd)
. "$here/venv.sh"
"$venv/bin/python" "$here/make_networks.py" "$@"
exec "$venv/bin/python" "$here/make_fixtures.py" "$@"
