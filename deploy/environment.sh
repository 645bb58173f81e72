# Sourced by the other scripts: finds a Python and fills .venv from a hashed lock.
# Usage: ensure_environment LOCKFILE

cd "$(dirname "$0")/.." || exit 1
export PYTHONDONTWRITEBYTECODE=1

stop() {
    printf '\n%s\n' "$*" >&2
    exit 1
}

find_python() {
    for name in "${PYTHON:-python3}" python3.13 python3.12 python3.11; do
        if command -v "$name" >/dev/null 2>&1 &&
            "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$name"
            return
        fi
    done
}

ensure_environment() {
    lock=$1
    stamp=.venv/installed-lock
    wanted=$(cksum "$lock")
    if [ -x .venv/bin/python ] && grep -qxF "$wanted" "$stamp" 2>/dev/null; then
        return
    fi
    python=$(find_python)
    [ -n "$python" ] || stop "Python 3.11 or newer is needed, and none was found."
    if [ ! -x .venv/bin/python ]; then
        "$python" -c 'import ensurepip, venv' 2>/dev/null ||
            stop "This Python has no venv module. On Debian: apt install python3-venv"
        echo "Making the environment in .venv …"
        "$python" -m venv .venv || stop "The environment could not be made."
    fi
    echo "Installing what $lock names (a minute or two the first time) …"
    .venv/bin/python -m pip install --quiet --quiet --disable-pip-version-check \
        --require-hashes --requirement "$lock" || stop "Installing failed; see above."
    echo "$wanted" >>"$stamp"
}
