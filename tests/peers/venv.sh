# Makes tests/peers/.venv, unless it is there with these requirements already. Sourced by the scripts
# beside it, with `here` set to this folder.
venv=$here/.venv
python=${PYTHON:-python3}

if ! cmp -s "$here/requirements.txt" "$venv/installed.txt"; then
  echo "Making $venv (about 100 MB to download, 510 MB unpacked) ..." >&2
  rm -rf "$venv"
  if ! "$python" -m venv "$venv"; then
    echo "$python cannot make a virtual environment; on Debian: apt-get install python3-venv" >&2
    exit 1
  fi
  # --no-deps: the list is complete, and pgmpy's own list is gigabytes too long.
  "$venv/bin/pip" install --disable-pip-version-check --no-deps --only-binary :all: \
    -r "$here/requirements.txt" >&2
  cp "$here/requirements.txt" "$venv/installed.txt"
fi
export PYTHONDONTWRITEBYTECODE=1
