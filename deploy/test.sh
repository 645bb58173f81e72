#!/bin/sh
# Run all tests: style and types, then the suite on SQLite, then what touches a database again
# on PostgreSQL. Starts throwaway services where none answer; says loudly what could not run.
#   sh deploy/test.sh
set -u
. "$(dirname "$0")/environment.sh"
ensure_environment deploy/lock-test.txt

work=$(mktemp -d)
failed=
export NOT_RUN_FILE="$work/not-run"
: >"$NOT_RUN_FILE"

started_redis=
started_postgres=
finish() {
    [ -z "$started_redis" ] || kill "$started_redis" 2>/dev/null
    [ -z "$started_postgres" ] || as_postgres "$pg_bin/pg_ctl" -D "$work/pg" -m immediate -s stop
    rm -rf "$work"
}
trap finish EXIT
trap 'exit 130' INT TERM

# What is missing is installed only by root on a Debian machine; elsewhere it is reported.
installs() {
    [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1 || return 1
    echo "Installing $* …"
    (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$@") \
        >"$work/apt.log" 2>&1
}

as_postgres() {
    if [ "$(id -u)" = 0 ]; then su postgres -s /bin/sh -c "$(quote "$@")"; else "$@"; fi
}
quote() { for word in "$@"; do printf "'%s' " "$word"; done; }

postgres_answers() {
    .venv/bin/python - "$1" <<'PYTHON' >/dev/null 2>&1
import sys, psycopg
psycopg.connect(sys.argv[1], connect_timeout=3).close()
PYTHON
}

find_pg_bin() { ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1; }

use_postgres() {
    postgres_url=${TEST_DATABASE_URL:-postgres://postgres@127.0.0.1:5432/postgres}
    postgres_answers "$postgres_url" && return
    pg_bin=$(find_pg_bin)
    if [ -z "$pg_bin" ]; then
        installs postgresql || return 1
        pg_bin=$(find_pg_bin)
    fi
    [ -n "$pg_bin" ] || return 1
    mkdir "$work/pg" && chmod 711 "$work"
    [ "$(id -u)" != 0 ] || chown postgres "$work/pg"
    as_postgres "$pg_bin/initdb" -D "$work/pg" -U postgres -A trust -E UTF8 >"$work/initdb.log" || return 1
    as_postgres "$pg_bin/pg_ctl" -D "$work/pg" -s -w -l "$work/pg/log" \
        -o "-p 54329 -k $work/pg -c listen_addresses=127.0.0.1 -c fsync=off" start || return 1
    started_postgres=yes
    postgres_url=postgres://postgres@127.0.0.1:54329/postgres
    postgres_answers "$postgres_url"
}

use_redis() {
    TEST_REDIS_URL=${TEST_REDIS_URL:-redis://127.0.0.1:6379/15}
    export TEST_REDIS_URL
    .venv/bin/python -c "import redis; redis.Redis.from_url('$TEST_REDIS_URL').ping()" 2>/dev/null && return
    command -v redis-server >/dev/null 2>&1 || installs redis-server || return 1
    redis-server --port 63799 --bind 127.0.0.1 --save '' --appendonly no >"$work/redis.log" 2>&1 &
    started_redis=$!
    TEST_REDIS_URL=redis://127.0.0.1:63799/15
    sleep 1
    .venv/bin/python -c "import redis; redis.Redis.from_url('$TEST_REDIS_URL').ping()" 2>/dev/null
}

use_chromium() {
    [ -n "${CHROMIUM:-}" ] || command -v chromium >/dev/null 2>&1 ||
        command -v chromium-browser >/dev/null 2>&1 || command -v google-chrome >/dev/null 2>&1 ||
        installs chromium
}

check() {
    name=$1
    shift
    printf '\n== %s\n' "$name"
    "$@" || failed="$failed, $name"
}

use_chromium || echo "browser tests: no Chromium could be found or installed" >>"$NOT_RUN_FILE"
use_redis || echo "Redis tests: no Redis could be found, installed or started" >>"$NOT_RUN_FILE"

check "style" .venv/bin/ruff check .
check "format" .venv/bin/ruff format --check .
check "layers" .venv/bin/lint-imports --no-cache
check "types" .venv/bin/mypy
check "templates" .venv/bin/djlint apps --lint --quiet
check "migrations" .venv/bin/python manage.py makemigrations --check --dry-run
check "suite on SQLite" env DATABASE_URL="sqlite:///$work/test.sqlite3" \
    .venv/bin/python -m pytest --numprocesses "${TEST_PROCESSES:-2}"
if use_postgres; then
    check "database tests on PostgreSQL" env DATABASE_URL="$postgres_url" ONLY_DATABASE_TESTS=1 \
        .venv/bin/python -m pytest --numprocesses "${TEST_PROCESSES:-2}"
else
    echo "tests on PostgreSQL: no PostgreSQL could be found, installed or started" >>"$NOT_RUN_FILE"
fi

printf '\n'
if [ -s "$NOT_RUN_FILE" ]; then
    echo "!! COULD NOT RUN ON THIS MACHINE:"
    sort -u "$NOT_RUN_FILE" | sed 's/^/!!   /'
    [ "${CI:-}" != true ] || failed="$failed, tests missing under CI"
else
    echo "Every test could run."
fi
if [ -n "$failed" ]; then
    echo "FAILED: ${failed#, }"
    exit 1
fi
echo "PASSED."
