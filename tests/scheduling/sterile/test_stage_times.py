from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from scheduling.errors import NotUsable
from scheduling.models import HouseSettings
from scheduling.operations.stage_minutes import accept_stage_minutes
from scheduling.sterile.stage_times import percentile, stage_times
from tests import factories
from tests.factories import NOW
from trays.models import TrayMove
from trays.stages import Stage


@pytest.mark.parametrize(
    ("minutes", "percent", "expected"),
    [([5], 90, 5), (range(1, 11), 90, 9), (range(1, 21), 90, 18), (range(1, 12), 90, 10)],
)
def test_the_nearest_rank(minutes: list[int], percent: int, expected: int) -> None:
    assert percentile(list(minutes), percent) == expected


@pytest.fixture
def twenty(site: Site) -> None:
    """Twenty trays that took 1 to 20 minutes at cleaning, this morning."""
    version = factories.configuration(site)
    on = TrayMove.objects.get(from_state=Stage.CLEANING, to_state=Stage.ASSEMBLY)
    for number in range(1, 21):
        tray = factories.tray(version, f"B/{number}", stage=Stage.CLEANING, ready_at=NOW)
        at = NOW + timedelta(minutes=number)
        by = factories.person(site, f"p{number}", "sterile services").user
        tray.movements.create(seq=2, move=on, at=at, day=at.date(), by=by, ready_at=at)


def test_is_measured_and_proposed_from_twenty_trays_on(site: Site, twenty: None) -> None:
    cleaning, assembly, _ = stage_times(site, NOW + timedelta(hours=1))
    assert (cleaning.trays, cleaning.median, cleaning.proposed) == (20, 10, 18)
    assert (assembly.trays, assembly.proposed) == (0, None)


def test_a_person_takes_what_was_measured(
    site: Site,
    twenty: None,
    coordinator: Person,
    sterile_services: Person,
    client_of: Callable[[Person], Client],
) -> None:
    site.clock_set_to = NOW + timedelta(hours=1)
    site.save()
    path = reverse("stage_times")
    sent = {"stage": "cleaning", "minutes": "1", "places": "6"}
    assert client_of(sterile_services).post(path, sent).status_code == 403
    assert client_of(coordinator).post(path, sent).status_code == 302
    house = HouseSettings.objects.get(site=site)
    assert (house.cleaning_minutes, house.cleaning_places) == (18, 6)


def test_names_every_fault_at_once(coordinator: Person) -> None:
    with pytest.raises(NotUsable) as refused:
        accept_stage_minutes(stage="drying", minutes=0, places=0, by=coordinator)
    assert len(refused.value.values["faults"]) == 3  # type: ignore[arg-type]
