"""A SQLite database as `manage.py migrate` leaves it: made once, for every test that asks and in
whichever process, since it takes longer than most of what is then tried on it."""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
from pathlib import Path

import pytest

from deploy.scripts.running import ROOT


def migrate(address: str) -> None:
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "--verbosity=0"],
        cwd=ROOT,
        env={**os.environ, "MUSTER_DATABASE": address},
        check=True,
    )


@pytest.fixture(scope="session")
def migrated_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file, for copies; nobody writes to it."""
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent
    made = folder / "migrated.sqlite3"
    with (folder / "migrated.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not made.exists():
            making = folder / "migrating.sqlite3"
            migrate(f"sqlite:///{making}")
            making.rename(made)
    return made
