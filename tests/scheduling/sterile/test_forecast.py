from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from deploy.kit.models import Site as HouseSite
from scheduling.coverage.clock import Clock
from scheduling.coverage.values import DepartmentStage, Site
from scheduling.facts import scenario_now
from scheduling.models import HouseSettings
from scheduling.sterile.forecast import minutes_left, ready_when
from scheduling.tray_uses import FOR_EVER
from tests import factories
from trays.stages import Stage

NOW = datetime(2027, 3, 1, 7, 0, tzinfo=UTC)
STATED = (
    DepartmentStage("cleaning", 2, 90),
    DepartmentStage("inspection and assembly", 1, 45),
    DepartmentStage("sterilising", 4, 75),
)


def clock(department: tuple[DepartmentStage, ...] = ()) -> Clock:
    hours = dict.fromkeys(range(5), (6 * 60, 22 * 60))
    return Clock(Site("House", "UTC", NOW, opening=hours, department=department))


@pytest.mark.parametrize(
    ("stage", "left"),
    [
        (Stage.IN_THEATRE, 240),
        (Stage.RETURNED_USED, 240),
        (Stage.CLEANING, 240),
        (Stage.ASSEMBLY, 150),
        (Stage.PACKED, 105),
        (Stage.STERILISING, 105),
        (Stage.AWAITING_RELEASE, 30),
        (Stage.STERILE_STORE, 0),
    ],
)
def test_the_stated_minutes_of_what_is_done_come_off(stage: Stage, left: int) -> None:
    assert minutes_left(stage, 240, STATED) == left


def test_never_less_than_the_steps_ahead_take() -> None:
    assert minutes_left(Stage.ASSEMBLY, 100, STATED) == 45 + 75


def test_where_nothing_is_stated_the_whole_turnaround_is_left() -> None:
    assert minutes_left(Stage.AWAITING_RELEASE, 240, ()) == 240


def test_an_earlier_forecast_that_is_ahead_is_kept_where_nothing_is_stated() -> None:
    ahead = NOW + timedelta(hours=2)
    assert ready_when(clock(), Stage.ASSEMBLY, 240, ahead) == ahead
    assert ready_when(clock(STATED), Stage.ASSEMBLY, 240, ahead) == NOW + timedelta(minutes=150)


def test_a_forecast_that_has_passed_begins_anew() -> None:
    assert ready_when(clock(), Stage.ASSEMBLY, 240, NOW) == NOW + timedelta(hours=4)


def test_a_used_tray_begins_a_new_turnaround() -> None:
    ahead = NOW + timedelta(hours=2)
    assert ready_when(clock(), Stage.RETURNED_USED, 240, ahead) == NOW + timedelta(hours=4)


def test_without_opening_hours_never() -> None:
    assert ready_when(Clock(Site("House", "UTC", NOW)), Stage.CLEANING, 240) == FOR_EVER


def test_a_department_elsewhere_has_both_ways_ahead_and_one_once_a_tray_has_arrived() -> None:
    assert minutes_left(Stage.RETURNED_USED, 240, STATED, 40) == 240 + 80
    assert minutes_left(Stage.IN_THEATRE, 240, STATED, 40) == 240 + 80
    assert minutes_left(Stage.CLEANING, 240, STATED, 40) == 240 + 40
    assert minutes_left(Stage.STERILE_STORE, 240, STATED, 40) == 0


def test_of_a_department_elsewhere_the_store_is_a_transport_away(site: HouseSite) -> None:
    HouseSettings.objects.filter(site=site).update(transport_minutes=40)
    version = factories.configuration(site)
    factories.tray(version)
    factories.tray(version, "BASE/2", stage=Stage.RETURNED_USED, ready_at=NOW)
    said = scenario_now(site)
    assert said.trays["BASE/1"].ready == NOW + timedelta(minutes=40)
    assert said.trays["BASE/2"].ready == NOW + timedelta(minutes=360 + 80)
    assert said.configurations["BASE"].turnaround_minutes == 360 + 80
    assert said.configurations["BASE"].fast_track_minutes == 270 + 80
