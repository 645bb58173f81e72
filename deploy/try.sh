#!/bin/sh
# Try the service: environment, database, demo neighbourhood, this week's plan, pages.
#   sh deploy/try.sh          prints the plan, then serves the pages until Ctrl-C
#   sh deploy/try.sh --once   prints the plan and ends
set -eu
once=no
port=${PORT:-8000}
for word in "$@"; do
    case "$word" in
    --once) once=yes ;;
    *)
        echo "Usage: sh deploy/try.sh [--once]   (PORT=8001 chooses another port)" >&2
        exit 2
        ;;
    esac
done

. "$(dirname "$0")/environment.sh"
ensure_environment deploy/lock.txt

manage() { .venv/bin/python manage.py "$@"; }

manage migrate --verbosity 0
manage load_demo
manage plan_demo_week
if [ "$once" = yes ]; then exit 0; fi

export SITE_ADDRESS="http://127.0.0.1:$port"
manage print_sign_in_links --group porto-lanterna
exec .venv/bin/python manage.py serve --bind "127.0.0.1:$port"
