"""Which first: the tray that a case waits for, what its delay costs, whom to ring."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from scheduling.models import Case, HouseSettings, OnCallNight, OpeningHours, Theatre
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import Bench
from trays.models import Machine
from trays.stages import Stage

pytestmark = pytest.mark.usefixtures("machines")


@pytest.fixture
def two_waiting(site: Site) -> None:
    """Two used trays at the benches: a case needs the base set in the evening, nobody the other."""
    theatre = Theatre.objects.create(site=site, code="Theatre 1")
    for code in ("A-SPARE", "BASE"):
        factories.tray(
            factories.configuration(site, code),
            f"{code}/1",
            stage=Stage.ASSEMBLY,
            ready_at=factories.NOW.replace(hour=13),
        )
    technique = factories.technique(site)
    technique.sets.create(purpose="femur", options=[["BASE"]])
    factories.case(
        site,
        "C1",
        technique=technique,
        theatre=theatre,
        start=factories.NOW.replace(hour=18),
    )


def test_what_a_case_waits_for_comes_first_and_says_what_a_delay_costs(
    bench: Bench, two_waiting: None
) -> None:
    page = bench.at("which_first").page
    assert [line.tray for line in page.context["lines"]] == ["BASE/1", "A-SPARE/1"]
    said = words_of(page)
    assert "C1 Theatre 1 by 17:00, Mon 1 Mar" in said
    assert "→ not covered . Ring Theatre 1." in said.replace("not covered.", "not covered .")
    assert "Assumed, since the house states none" in said


def test_more_people_at_the_benches_are_sooner_through(bench: Bench, two_waiting: None) -> None:
    alone = bench.at("which_first").page.context["lines"]
    two = bench.client.get(reverse("which_first"), {"people": "2"}).context["lines"]
    assert two[1].begins < alone[1].begins


def test_a_machine_that_is_down_is_not_counted_with(bench: Bench, two_waiting: None) -> None:
    Machine.objects.filter(code="S1").update(down_since=factories.NOW, down_reason="leaks")
    said = words_of(bench.at("which_first").page)
    assert "No steriliser is in use: nothing is through." in said


def test_one_that_is_known_to_come_back_is_reckoned_with_from_then(
    bench: Bench, site: Site, two_waiting: None
) -> None:
    HouseSettings.objects.filter(site=site).update(sterilising_places=4, sterilising_minutes=60)
    before = bench.at("which_first").page.context["lines"][0].through
    down = {"down_since": factories.NOW, "down_reason": "leaks"}
    Machine.objects.filter(code="S1").update(**down, back_at=factories.NOW + timedelta(hours=2))
    page = bench.at("which_first").page
    assert "nothing is through" not in words_of(page)
    assert page.context["lines"][0].through == before + timedelta(hours=2)


def test_who_can_be_called_in_is_named_where_that_would_be_in_time(
    bench: Bench, site: Site, two_waiting: None
) -> None:
    """Open from 07:00 to 08:00; an hour and a half of work is needed by the next morning, 07:00."""
    OpeningHours.objects.filter(site=site).update(opens_minute=420, closes_minute=480)
    Case.objects.update(start=factories.NOW + timedelta(hours=25))
    assert "Ring bleep 22" not in words_of(bench.at("which_first").page)
    OnCallNight.objects.create(site=site, day=factories.NOW.date(), contact="bleep 22")
    said = words_of(bench.at("which_first").page)
    assert "Called in Mon 1 Mar night: through" in said
    assert "in time. Ring bleep 22." in said


def test_the_reader_may_look_a_surgeon_not(
    manager: Person, surgeon: Person, client_of: Callable[[Person], Client], two_waiting: None
) -> None:
    path = reverse("which_first")
    assert client_of(manager).get(path).status_code == 200
    assert client_of(surgeon).get(path).status_code == 403
