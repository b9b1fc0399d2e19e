"""The cast: one site at a fixed moment, one person a role, and a stranger from elsewhere."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from deploy.kit.models import Person, Site
from scheduling.models import HouseSettings, OpeningHours, Surgeon
from tests import factories


@pytest.fixture
def site(db: None) -> Site:
    """Ottermere General, standing still on Monday 1 March 2027, 07:00 in London."""
    site = Site.objects.create(
        code="ottermere",
        name="Ottermere General",
        timezone="Europe/London",
        clock_set_to=factories.NOW,
    )
    HouseSettings.objects.create(site=site)
    OpeningHours.objects.bulk_create(
        OpeningHours(site=site, weekday=weekday, opens_minute=6 * 60, closes_minute=22 * 60)
        for weekday in range(5)
    )
    return site


@pytest.fixture
def sterile_services(site: Site) -> Person:
    return factories.person(site, "sterile", "sterile services")


@pytest.fixture
def coordinator(site: Site) -> Person:
    return factories.person(site, "coordinator", "implant coordinator")


@pytest.fixture
def surgeon(site: Site) -> Person:
    """A surgeon with an account; `surgeon.user.surgeon` is the row that cases refer to."""
    person = factories.person(site, "surgeon", "surgeon")
    Surgeon.objects.create(site=site, name="Surgeon One", user=person.user)
    return person


@pytest.fixture
def other_surgeon(site: Site) -> Person:
    person = factories.person(site, "other-surgeon", "surgeon")
    Surgeon.objects.create(site=site, name="Surgeon Two", user=person.user)
    return person


@pytest.fixture
def theatre_team(site: Site) -> Person:
    return factories.person(site, "theatre", "theatre")


@pytest.fixture
def manager(site: Site) -> Person:
    return factories.person(site, "manager", "manager")


@pytest.fixture
def administrator(site: Site) -> Person:
    """Users, roles and settings; nothing clinical."""
    return factories.person(site, "administrator", "administrator")


@pytest.fixture
def other_administrator(site: Site) -> Person:
    return factories.person(site, "other-administrator", "administrator")


@pytest.fixture
def stranger(db: None) -> Person:
    """The coordinator of another site: every right there, none here."""
    elsewhere = Site.objects.create(
        code="elsewhere", name="Elsewhere Infirmary", clock_set_to=factories.NOW
    )
    HouseSettings.objects.create(site=elsewhere)
    return factories.person(elsewhere, "stranger", "implant coordinator")


@pytest.fixture
def client_of() -> Callable[[Person], Client]:
    """A browser in which the person has logged in."""

    def log_in(person: Person) -> Client:
        client = Client()
        client.force_login(person.user)
        return client

    return log_in
