#!/bin/sh
# Run a command with a throw-away PostgreSQL server on loopback; its address is in
# TAKEUP_TEST_POSTGRES. The server and its files are gone when the command ends.
set -eu
bin=$(ls -d /usr/lib/postgresql/*/bin | sort -V | tail -n 1)
data=$(mktemp -d)
# a free port, so that two runs on one machine do not meet
free='import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])'
port=${TAKEUP_TEST_PORT:-$(.venv/bin/python -c "$free" 2>/dev/null || echo 54329)}
as=""
if [ "$(id -u)" = 0 ]; then
  chown postgres "$data"
  as="runuser -u postgres --"
fi
chmod 700 "$data" # PostgreSQL refuses a folder that others may read
$as "$bin/initdb" -D "$data" -U postgres -A trust -E UTF8 --locale=C.UTF-8 --no-sync >/dev/null
$as "$bin/pg_ctl" -D "$data" -w -s -l "$data/log" \
  -o "-p $port -k $data -c listen_addresses=127.0.0.1 -c fsync=off" start
stop() { $as "$bin/pg_ctl" -D "$data" -s -m fast stop || true; rm -rf "$data"; }
trap stop EXIT INT TERM
TAKEUP_TEST_POSTGRES="postgresql+psycopg://postgres@127.0.0.1:$port/postgres" "$@"
