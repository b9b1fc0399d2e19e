# Sourced by the scripts of deploy/: goes to the project's folder and runs a module with a Python
# that is new enough and can make environments, or says what to do.

cd "$(dirname "$0")/.." || exit 1

run_module() {
    for python in python3 python3.14 python3.13 python3.12 python3.11; do
        if "$python" -c 'import sys, ensurepip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null
        then
            exec "$python" -m "$@"
        fi
    done
    echo "Muster needs Python 3.11 or later, with its venv module." >&2
    echo "Found: $(python3 --version 2>&1 || echo none)." >&2
    echo "On Debian or Ubuntu: apt-get install python3 python3-venv" >&2
    exit 1
}
