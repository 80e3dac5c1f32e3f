#!/bin/sh
# Writes tests/peers/networks and tests/peers/fixtures anew: see make_networks.py, make_fixtures.py.
# Makes tests/peers/.venv first, unless it is there with these requirements already.
# Arguments are passed on to make_fixtures.py.
set -eu
here=$(CDPATH= cd -- "$(dirname -- "$0")" && pwd)
venv=$here/.venv
python=${PYTHON:-python3}

if ! cmp -s "$here/requirements.txt" "$venv/installed.txt"; then
  echo "Making $venv (about 100 MB to download, 510 MB unpacked) ..."
  rm -rf "$venv"
  if ! "$python" -m venv "$venv"; then
    echo "$python cannot make a virtual environment; on Debian: apt-get install python3-venv" >&2
    exit 1
  fi
  # --no-deps: the list is complete, and pgmpy's own list is gigabytes too long.
  "$venv/bin/pip" install --disable-pip-version-check --no-deps --only-binary :all: \
    -r "$here/requirements.txt"
  cp "$here/requirements.txt" "$venv/installed.txt"
fi

export PYTHONDONTWRITEBYTECODE=1
"$venv/bin/python" "$here/make_networks.py"
exec "$venv/bin/python" "$here/make_fixtures.py" "$@"
