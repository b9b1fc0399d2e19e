"""The project's Python environment: `.venv`, made from a lock file."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from pathlib import Path

from deploy.scripts.running import ROOT, GiveUp, run

RUNTIME = ROOT / "deploy" / "requirements.lock"
DEVELOPMENT = ROOT / "deploy" / "requirements-dev.lock"
"""Holds all that RUNTIME holds, at the same versions."""

FOLDER = ROOT / ".venv"
STAMP = FOLDER / "made-from"
"""Written last: an environment whose making was broken off has none, and is made again."""


def ensure(*locks: Path) -> Path:
    """The environment's Python.  Made from the first lock, unless it stands from any of them.

    GiveUp where it can't be made.  Without a change of the locks this costs no download.
    """
    python = FOLDER / "bin" / "python"
    made_from = STAMP.read_text() if STAMP.exists() else None
    if made_from in {fingerprint(lock) for lock in locks} and works(python):
        return python
    if FOLDER.is_symlink():
        raise GiveUp(f".venv is a link to {FOLDER.resolve()}, which is not ours to make anew.")
    print(f"Making .venv from {locks[0].name}; this downloads packages.", flush=True)
    run(sys.executable, "-m", "venv", "--clear", FOLDER)
    run(
        python,
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
        "--require-hashes",
        "--only-binary=:all:",
        "--requirement",
        locks[0],
    )
    STAMP.write_text(fingerprint(locks[0]))
    return python


def fingerprint(lock: Path) -> str:
    if not lock.exists():
        raise GiveUp(f"{lock.name} is missing: deploy/lock makes it.")
    return hashlib.sha256(lock.read_bytes()).hexdigest()


def works(python: Path) -> bool:
    """Whether it still starts: the Python that it was made with may be gone."""
    return python.exists() and subprocess.run([python, "-c", ""], check=False).returncode == 0
