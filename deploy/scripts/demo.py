"""The demonstration hospital: set up anew, checked, printed, and served on this machine alone.

The database is made afresh at each run, so that every visitor starts on the same Monday morning;
what was clicked in an earlier run is gone.
"""

from __future__ import annotations

import argparse
import fcntl
import json
import os
import secrets
import socket
import subprocess
import sys
import time
from io import TextIOWrapper
from pathlib import Path

from deploy.scripts.python_env import DEVELOPMENT, RUNTIME, ensure
from deploy.scripts.running import ROOT, GiveUp, clean_environment, complain, duration, output, run

VAR = ROOT / "var"
DATABASE = VAR / "demonstration.sqlite3"
LOCK = VAR / "demonstration.lock"
SCENARIO = ROOT / "fixtures" / "demonstration.json"
PICK_LIST = VAR / "pick-list.pdf"


def set_up(python: Path, env: dict[str, str], address: str) -> str:
    """Make the hospital, print its coverage and a pick list; the log-ins, as a table."""
    manage = (python, "manage.py")
    for path in VAR.glob(f"{DATABASE.name}*"):
        path.unlink()
    run(*manage, "migrate", "--verbosity=0", env=env)
    run(*manage, "load_scenario", SCENARIO, "--run-clock", env=env)
    address_of_codes = f"Site.objects.update(address={address!r})"
    output(*manage, "shell", "--command", address_of_codes, env=env)
    people = output(*manage, "make_demo_people", env=env)
    output(*manage, "make_demo_orders", env=env)
    output(*manage, "make_demo_loans", env=env)
    output(*manage, "make_demo_sizes", env=env)
    output(*manage, "make_demo_waste", env=env)
    output(*manage, "make_demo_bench", env=env)
    run(*manage, "make_demo_declarations", env=env)
    run(*manage, "make_demo_department", env=env)
    run(*manage, "collectstatic", "--no-input", "--verbosity=0", "--clear", env=env)
    run(*manage, "verify_ledger", env=env)
    run(*manage, "check_coverage", env=env)
    theatre, day = first_list()
    run(
        *(
            *manage,
            "print_pick_list",
            "--theatre",
            theatre,
            "--day",
            day,
            "--out",
            PICK_LIST.relative_to(ROOT),
        ),
        env=env,
    )
    return people


def first_list() -> tuple[str, str]:
    """Theatre and day of the first case."""
    cases = json.loads(SCENARIO.read_text())["cases"]
    first = min(cases, key=lambda case: (case["start"], case["theatre"]))
    return first["theatre"], first["start"][:10]


def claim() -> TextIOWrapper:
    """Hold the demonstration's lock until this process ends; GiveUp where another holds it."""
    VAR.mkdir(exist_ok=True)
    lock = LOCK.open("w")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        lock.close()
        raise GiveUp(
            "A demonstration is already running from this folder, and a new one would take its\n"
            "database away.  Stop it first (Ctrl+C where it runs)."
        ) from None
    # gunicorn takes this process over, and the lock with it.
    os.set_inheritable(lock.fileno(), True)
    return lock


def check_port(port: int) -> None:
    """GiveUp where the port can't be had, before anything is made."""
    with socket.socket() as tried:
        # As gunicorn does: connections of an earlier server that still wind down don't count.
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind(("127.0.0.1", port))
        except OSError as fault:
            raise GiveUp(
                f"Port {port} can't be used ({fault.strerror}).  Choose another one: "
                f"deploy/demo --port {port + 1}"
            ) from None


def serve(python: Path, env: dict[str, str], port: int, welcome: str) -> None:
    """Become the server; `welcome` is printed once it answers."""
    command = (str(python), "-m", "gunicorn", "--config", "python:deploy.serving")
    serving = {"MUSTER_BIND": f"127.0.0.1:{port}", "MUSTER_WELCOME": welcome}
    os.chdir(ROOT)
    sys.stdout.flush()
    # Alerts need somebody who looks; it ends with the server, which keeps this process's number.
    watch = (str(python), "manage.py", "watch_cover", "--every=20", f"--as-long-as={os.getpid()}")
    subprocess.Popen(watch, env=env, stdout=subprocess.DEVNULL)
    os.execve(python, [*command, "deploy.wsgi:application"], {**env, **serving})


def port_number(text: str) -> int:
    number = int(text)
    if not 0 < number < 65536:
        raise ValueError(text)
    return number


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="deploy/demo",
        description="Set the demonstration hospital up anew and serve it on this machine.",
    )
    parser.add_argument("--port", type=port_number, default=8000, help="default: 8000")
    parser.add_argument("--no-serve", action="store_true", help="set up and print, then end")
    chosen = parser.parse_args()
    address = f"http://127.0.0.1:{chosen.port}"
    start = time.monotonic()
    try:
        if not chosen.no_serve:
            check_port(chosen.port)
        lock = claim()
        python = ensure(RUNTIME, DEVELOPMENT)
        env = clean_environment(
            MUSTER_DEMO="1",
            MUSTER_SECRET_KEY=secrets.token_urlsafe(48),
            MUSTER_DATABASE=f"sqlite:///{DATABASE.relative_to(ROOT)}",
        )
        print("The demonstration's database is made anew at each run.", flush=True)
        people = set_up(python, env, address)
    except GiveUp as fault:
        return complain(fault)
    welcome = (
        f"\nReady after {duration(time.monotonic() - start)}.  Pick list: {PICK_LIST}\n"
        f"\nLog in as one of\n\n{people}"
    )
    if chosen.no_serve:
        print(welcome, flush=True)
        lock.close()
        return 0
    serve(python, env, chosen.port, f"{welcome}\nat {address}  (Ctrl+C ends it)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
