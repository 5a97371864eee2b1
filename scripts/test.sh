#!/bin/sh
# Install what the tests need where that is possible, then run every check and test.
# Called by `make test`; arguments go to pytest.
set -eu
cd "$(dirname "$0")/.."
export OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1 TZ=UTC

missing=""
command -v chromium >/dev/null 2>&1 || missing="$missing chromium"
command -v pdftoppm >/dev/null 2>&1 || missing="$missing poppler-utils"
ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || missing="$missing postgresql"
if [ -n "$missing" ]; then
  if command -v apt-get >/dev/null 2>&1 && [ "$(id -u)" = 0 ]; then
    echo "installing for the tests:$missing fonts-dejavu-core"
    apt-get update -q >/dev/null
    DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends \
      $missing fonts-dejavu-core >/dev/null
  else
    echo "NOTE: not installed and not installable here (needs apt and root):$missing"
    echo "NOTE: tests that need them are skipped and named in the summary."
  fi
fi

BIN=.venv/bin
echo "== format, lint, types, import rules"
$BIN/ruff format --check -q src tests scripts
$BIN/ruff check -q src tests scripts
$BIN/mypy
$BIN/lint-imports --no-logo 2>/dev/null || $BIN/lint-imports

echo "== tests"
if ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1; then
  exec sh scripts/postgres.sh $BIN/python -m pytest -rs "$@"
fi
exec $BIN/python -m pytest -rs "$@"
