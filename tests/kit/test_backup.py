"""Backup, restore, verify: 100,000 movements come back, with the rules that keep them.

The longer run: LONGER=1 deploy/test tests/kit/test_backup.py
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from tests import factories
from tests.proof.crew import ROOT, address
from tests.proof.figures import size
from tests.proof.many import enter_boxes

pytestmark = pytest.mark.django_db(transaction=True)

BOXES, EACH = size(10_000, 100_000), 10


@pytest.fixture
def empty(tmp_path):
    """The address of a database with nothing in it."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path / 'new.sqlite3'}"
        return
    with connection.cursor() as cursor:
        cursor.execute("CREATE DATABASE restored")
    yield address().replace(f"/{connection.settings_dict['NAME']}?", "/restored?")
    with connection.cursor() as cursor:
        cursor.execute("DROP DATABASE restored WITH (FORCE)")


def restored(file: Path, database: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", "restore", str(file)],
        cwd=ROOT,
        env={**os.environ, "MUSTER_DATABASE": database},
        capture_output=True,
        text=True,
        check=False,
    )


def test_everything_comes_back_with_its_rules(site, coordinator, tmp_path, empty, figures, capsys):
    movements = enter_boxes(factories.implant(site), coordinator.user_id, BOXES, EACH)
    file = tmp_path / "copy"
    call_command("back_up", file)
    assert not list(tmp_path.glob("*.part"))
    done = restored(file, empty)
    assert done.returncode == 0, done.stderr
    whole = f"{movements} movements of {BOXES} units" in done.stdout
    figures("Backup, restore, verify", movements=movements, breaches=int(not whole))
    assert done.stdout.startswith("whole: "), done.stdout
    assert whole, done.stdout
    again = restored(file, empty)
    assert again.returncode == 1
    assert "The database is not empty" in again.stderr


def test_a_copy_is_never_overwritten(db, tmp_path):
    (tmp_path / "copy").write_text("the last one")
    with pytest.raises(CommandError, match="is there already"):
        call_command("back_up", tmp_path / "copy")
    assert (tmp_path / "copy").read_text() == "the last one"


def test_a_copy_that_is_not_there(db, tmp_path):
    with pytest.raises(CommandError, match="is not there"):
        call_command("restore", tmp_path / "copy")
