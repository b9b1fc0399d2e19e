"""The server does not start on a set-up that would mislead: a set clock, a migration undone."""

from __future__ import annotations

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder


def at_start() -> None:
    """As `deploy.wsgi` does."""
    call_command("check", tags=["database"], databases=["default"], deploy=True)


def test_a_set_clock_is_refused_by_name(site, settings):
    settings.DEMO = False
    with pytest.raises(SystemCheckError, match=r"kit.E001\) The clock of Ottermere General is set"):
        at_start()


def test_a_demonstration_may_set_it(site, settings):
    settings.DEMO = True
    at_start()


def test_a_real_clock_passes(site, settings):
    settings.DEMO = False
    site.clock_set_to = None
    site.save()
    at_start()


def test_migrating_does_not_ask(site, settings):
    """So that a developer's database can be brought up to date."""
    settings.DEMO = False
    call_command("migrate", verbosity=0)


def test_a_migration_that_is_not_done_is_refused_by_name(db, settings):
    settings.DEMO = False
    MigrationRecorder(connection).migration_qs.filter(app="kit").delete()
    said = r"kit.E003\) \d+ migrations are not done yet, the first is kit.0001_whole"
    with pytest.raises(SystemCheckError, match=said):
        at_start()
