"""What the engine says of a case is on its page: who stands against it, what is not made."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from deploy.kit.models import Person, Site
from scheduling.models import Case
from tests import factories
from tests.scheduling.web.pages.test_views import words_of


@pytest.fixture
def desk(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


def test_who_cannot_all_be_served_from_which_trays(desk: Client, case_b: Case) -> None:
    said = words_of(desk.get(f"/cases/{case_b.pk}/"))
    assert "Cases A and B cannot both be served from ADD/1." in said


def test_a_ladder_that_the_catalogue_cuts_short_whatever_the_verdict(
    desk: Client, site: Site
) -> None:
    stem = factories.implant(site, "Q-12", size=12, system="Q")
    factories.unit(stem, "Q1")
    technique = factories.technique(site, "STEM-Q")
    technique.rules.create(
        role="stem",
        need="contingency",
        select={"system": "Q", "size": {"at": {"plan": "stem.size"}, "below": 0, "above": 2}},
    )
    case = factories.case(
        site,
        "Q-C1",
        start=site.now() + timedelta(days=1),
        technique=technique,
        components={"stem": {"system": "Q", "size": 12}},
    )
    said = words_of(desk.get(f"/cases/{case.pk}/"))
    assert "Stem: 2 above by size asked for, the catalogue holds none." in said
    assert "Not covered" not in said
