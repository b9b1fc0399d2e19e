"""A real site's clock can't be set: the server does not start on one that is."""

from __future__ import annotations

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError


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
