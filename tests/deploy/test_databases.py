"""The run talks to the database that it says it talks to, set up as production's is."""

from __future__ import annotations

import os

import pytest
from django.db import connection


@pytest.mark.django_db
def test_the_run_uses_the_database_that_it_names() -> None:
    """`deploy/test` says which: a "PostgreSQL" run that passed on SQLite proves nothing."""
    assert connection.vendor == os.environ.get("MUSTER_EXPECT_VENDOR", "sqlite")


@pytest.mark.django_db
def test_the_database_is_set_up_as_in_production() -> None:
    if connection.vendor == "postgresql":
        assert connection.pg_version >= 150000, "PostgreSQL 15 or later"
        return
    with connection.cursor() as cursor:
        said = {
            pragma: cursor.execute(f"PRAGMA {pragma}").fetchone()[0]
            for pragma in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers")
        }
    full = 2
    assert said == {
        "journal_mode": "wal",
        "synchronous": full,
        "foreign_keys": 1,
        "recursive_triggers": 1,
    }
