"""The server itself: it starts on a good database and refuses a wrong one, saying why."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def run(*command: str, database: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *command],
        cwd=ROOT,
        env={"MUSTER_SECRET_KEY": "k" * 60, "MUSTER_DATABASE": f"sqlite:///{database}"},
        capture_output=True,
        text=True,
    )


@pytest.fixture
def database(migrated_sqlite: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(migrated_sqlite, tmp_path / "muster.sqlite3"))


def start(database: Path) -> subprocess.CompletedProcess[str]:
    """As gunicorn and runserver do: they load the application first."""
    return run("-c", "import deploy.wsgi", database=database)


def test_it_starts_on_a_database_that_is_whole(database: Path) -> None:
    started = start(database)
    assert (started.returncode, started.stdout) == (0, "")


def test_it_leaves_no_connection_to_the_workers_that_it_parts_into(database: Path) -> None:
    opened = "import deploy.wsgi; from django.db import connection; print(connection.connection)"
    assert run("-c", opened, database=database).stdout == "None\n"


def test_it_refuses_one_that_was_never_migrated(tmp_path: Path) -> None:
    refused = start(tmp_path / "empty.sqlite3")
    assert refused.returncode != 0
    assert "(kit.E003)" in refused.stderr
    assert "Run `manage.py migrate`." in refused.stderr


@pytest.mark.parametrize(
    "rule", ["implants_unit_movement_no_delete", "kit_security_event_no_update"]
)
def test_it_refuses_one_that_lacks_a_rule(rule: str, database: Path, tmp_path: Path) -> None:
    lacking = tmp_path / "lacking.sqlite3"
    lacking.write_bytes(database.read_bytes())
    with sqlite3.connect(lacking) as connection:
        connection.execute(f"DROP TRIGGER {rule}")
    refused = start(lacking)
    assert refused.returncode != 0
    assert f"the database does not keep the rule {rule}" in refused.stderr
    assert "Run `manage.py migrate`, then `manage.py verify_ledger`." in refused.stderr
