"""What every test stands on: the test database, and which tests a second database has to repeat."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from django.conf import settings
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models.signals import pre_migrate
from django.dispatch import receiver
from django.test import TransactionTestCase
from pytest_django import DjangoDbBlocker

from deploy.kit import guards
from tests.cast import (  # noqa: F401  fixtures for every test
    administrator,
    client_of,
    coordinator,
    manager,
    other_administrator,
    other_surgeon,
    site,
    sterile_services,
    stranger,
    surgeon,
    theatre_team,
)
from tests.migrated import migrated_sqlite  # noqa: F401  a fixture
from tests.proof.figures import figures, pytest_terminal_summary  # noqa: F401

# Generated tests judge answers, not times: a busy machine is no fault.
hypothesis.settings.register_profile("muster", deadline=None, print_blob=True)
hypothesis.settings.load_profile("muster")

REACHES_THE_DATABASE = frozenset({"db", "transactional_db", "live_server"})
"""Fixtures that open the database.  pytest-django refuses it to a test without one of them (or
the `django_db` mark), so the selection below can't miss a test that reads or writes."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--database-only",
        action="store_true",
        help="leave out the tests to which it is the same which database there is: those that "
        "never open it, and those marked any_database",
    )


def pytest_configure(config: pytest.Config) -> None:
    settings.PASSWORD_HASHERS = ["tests.quick_hasher.QuickHasher"]


def pytest_collection_finish() -> None:
    """What has been loaded stays: no use in looking for garbage in it again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not config.getoption("--database-only"):
        return
    done = [item for item in items if not depends_on_the_database(item)]
    config.hook.pytest_deselected(items=done)
    items[:] = [item for item in items if depends_on_the_database(item)]


def depends_on_the_database(item: pytest.Item) -> bool:
    if item.get_closest_marker("any_database") is not None:
        return False
    return item.get_closest_marker("django_db") is not None or not REACHES_THE_DATABASE.isdisjoint(
        getattr(item, "fixturenames", ())
    )


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """SQLite's test database is a file, as in production, and one of this process alone.

    In memory, Django lends the test's one connection to the live server's threads, and WAL and
    the waiting for the single writer do not exist: two transactions would mix in silence.
    """
    default = settings.DATABASES["default"]
    test = default.setdefault("TEST", {})
    test["MIGRATE"] = False
    if default["ENGINE"] == "django.db.backends.sqlite3":
        folder: Path = tmp_path_factory.mktemp("database")
        test["NAME"] = str(folder / "test.sqlite3")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> None:
    """The tables are made from the models, in a tenth of the time that the migrations take, and
    the migrations noted as done.  `tests/deploy/test_migrations.py` does them, and compares."""
    with django_db_blocker.unblock():
        done = MigrationExecutor(connection)
        done.recorder.ensure_schema()
        for migration in done.loader.graph.nodes.values():
            done.record_migration(migration)
        MigrationExecutor(connection).check_replacements()


@receiver(pre_migrate, dispatch_uid="the tests' btree_gist")
def equality_in_gist(**of: Any) -> None:
    """What the models do not say, and a migration does."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")


@pytest.fixture(autouse=True, scope="session")
def flush_without_the_guards() -> Iterator[None]:
    """A test with transactions of its own ends with a flush, which the ledgers' rules refuse.

    The rules come off for the flush alone; the migrate signal that follows it puts them back,
    with the rows of allowed moves.
    """
    flush = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]

    def lifted(case: TransactionTestCase) -> None:
        guards.lift(connection)
        flush(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lifted)
        yield
