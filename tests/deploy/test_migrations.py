"""The migrations, done in an empty database, give what the models say: the tests' own tables."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.utils import ConnectionHandler

from deploy.environment import database
from deploy.kit import guards
from tests.migrated import migrate

pytestmark = pytest.mark.django_db

OURS = ("kit_", "trays_", "implants_", "scheduling_")
FILLED = (
    "SELECT from_state, to_state, kind FROM implants_unitmove",
    "SELECT from_state, to_state, kind FROM trays_traymove",
    "SELECT name, codename FROM auth_permission",
    "SELECT name FROM auth_group",
)
"""What `migrate` itself puts into tables."""


@pytest.fixture
def address(request: pytest.FixtureRequest) -> Iterator[str]:
    """Of another database of this kind, brought up by `manage.py migrate` alone."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{request.getfixturevalue('migrated_sqlite')}"
        return
    name = f"{connection.settings_dict['NAME']}_migrated"
    address = urlsplit(os.environ["MUSTER_DATABASE"])._replace(path=f"/{name}").geturl()
    with connection._nodb_cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}"')
    try:
        migrate(address)
        yield address
    finally:
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{name}"')


@pytest.fixture
def migrated(address: str, tmp_path: Path) -> Iterator[BaseDatabaseWrapper]:
    other = ConnectionHandler({"default": database(address, tmp_path)})["default"]
    yield other
    other.close()


def test_they_make_the_tables_that_the_models_say(migrated: BaseDatabaseWrapper) -> None:
    theirs, ours = tables(migrated), tables(connection)
    assert theirs.keys() == ours.keys()
    for name, table in theirs.items():
        assert table == ours[name], name
    assert guards.faults(migrated) == []
    for filled in FILLED:
        assert rows(migrated, filled) == rows(connection, filled), filled


def tables(of: BaseDatabaseWrapper) -> dict[str, Any]:
    """By table: its columns in any order, and what its constraints and indexes are on.

    Without their names: Django's own end in a hash.  What a check or a partial index says is in
    the models' state, which `makemigrations --check` compares.
    """
    with of.cursor() as cursor:
        return {
            table.name: (
                sorted(
                    (column.name, str(column.type_code), column.null_ok, column.display_size)
                    for column in of.introspection.get_table_description(cursor, table.name)
                ),
                sorted(
                    repr(sorted(constraint.items()))
                    for constraint in of.introspection.get_constraints(cursor, table.name).values()
                ),
            )
            for table in of.introspection.get_table_list(cursor)
            if table.name.startswith(OURS)
        }


def rows(of: BaseDatabaseWrapper, query: str) -> set[tuple[Any, ...]]:
    with of.cursor() as cursor:
        cursor.execute(query)
        return set(cursor.fetchall())
