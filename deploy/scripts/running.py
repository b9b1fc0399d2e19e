"""How the scripts run a command, and how they give up."""

from __future__ import annotations

import os
import shlex
import signal
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
"""The project's folder; every command runs there."""


class GiveUp(Exception):
    """What is wrong and what to do about it, in words for the person at the keyboard."""


def clean_environment(**more: str) -> dict[str, str]:
    """This shell's environment without what would turn a run elsewhere, and with `more`.

    What one process has compiled the next one takes: a run starts many.
    """
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("MUSTER_", "PG", "DJANGO_", "PYTEST_"))
    }
    return {**kept, "PYTHONUNBUFFERED": "1", "PYTHONDONTWRITEBYTECODE": "", **more}


def run(*command: str | Path, env: Mapping[str, str] | None = None) -> None:
    """Run it, its output passed on; GiveUp where it fails."""
    if not succeeds(*command, env=env):
        raise GiveUp(f"This failed: {in_words(command)}")


def succeeds(*command: str | Path, env: Mapping[str, str] | None = None) -> bool:
    """Run it, its output passed on, and say whether it went well."""
    print(f"$ {in_words(command)}", flush=True)
    status = subprocess.run(command, cwd=ROOT, env=env, check=False).returncode
    if status < 0:
        print(f"\nIt was ended from outside: {signal.Signals(-status).name}.", flush=True)
    return status == 0


def outcome(*command: str | Path, env: Mapping[str, str] | None = None) -> tuple[bool, str]:
    """Run it, and say whether it went well and all that it said."""
    done = subprocess.run(
        command,
        cwd=ROOT,
        env=env,
        check=False,
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    return done.returncode == 0, f"$ {in_words(command)}\n{done.stdout}"


def output(*command: str | Path, env: Mapping[str, str] | None = None) -> str:
    """Run it and give what it printed; GiveUp, with what it said, where it fails."""
    done = subprocess.run(command, cwd=ROOT, env=env, check=False, text=True, capture_output=True)
    if done.returncode != 0:
        raise GiveUp(f"{done.stdout}{done.stderr}This failed: {in_words(command)}")
    return done.stdout


def in_words(command: tuple[str | Path, ...]) -> str:
    """The command as one would type it in the project's folder."""
    return shlex.join(str(word).removeprefix(f"{ROOT}/") for word in command)


def duration(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"


def complain(fault: GiveUp) -> int:
    """Say it where errors are said; the exit status."""
    sys.stdout.flush()
    print(fault, file=sys.stderr, flush=True)
    return 1
