"""Machines out of use: the steps with what is left, and the forecasts and verdicts with them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from deploy.kit.models import Person, Site
from scheduling.coverage.clock import Clock, minute
from scheduling.coverage.values import DepartmentStage
from scheduling.facts import scenario_now
from scheduling.models import HouseSettings
from scheduling.queries import coverage_now
from scheduling.sterile.outages import Halt, MachineState, department_left, halts
from scheduling.tray_uses import FOR_EVER
from tests import factories
from tests.factories import NOW
from trays.models import Load, LoadState, Machine, MachineKind, Pack, Tray
from trays.operations.machines import put_back_into_use, put_out_of_use
from trays.stages import Stage

EVENING = NOW + timedelta(hours=10)
W, S = MachineKind.WASHER, MachineKind.STERILISER


def machine(kind: str, places: int, back: Any = None, *, down: bool = False) -> MachineState:
    return MachineState(kind, places, 60, down, back)


def test_a_step_has_the_places_that_are_left() -> None:
    stated = (DepartmentStage("cleaning", 10, 90), DepartmentStage("sterilising", 16, 75))
    two = [machine(S, 8), machine(S, 8, down=True), machine(W, 6)]
    assert department_left(stated, two, NOW) == (stated[0], DepartmentStage("sterilising", 8, 75))
    assert department_left(stated, [machine(S, 8), machine(W, 6)], NOW) == stated


def test_a_step_of_which_nothing_is_stated_gets_the_machines_own_figures() -> None:
    two = [machine(W, 6), machine(W, 4, down=True)]
    assert department_left((), two, NOW) == (DepartmentStage("cleaning", 6, 60),)
    assert department_left((), [machine(W, 6)], NOW) == ()


def test_places_that_are_known_to_come_back_are_out_until_then() -> None:
    stated = (DepartmentStage("sterilising", 20, 75),)
    back = machine(S, 2, EVENING, down=True)
    assert department_left(stated, [machine(S, 8), back], NOW) == (
        DepartmentStage("sterilising", 20, 75, out_until=(EVENING, EVENING)),
    )
    # It should have been back and is not: nobody knows.
    assert department_left(stated, [machine(S, 8), back], EVENING) == (
        DepartmentStage("sterilising", 18, 75),
    )
    for_good = machine(S, 17, down=True)
    assert department_left(stated, [for_good, back], NOW) == (
        DepartmentStage("sterilising", 3, 75, out_until=(EVENING, EVENING)),
    )


def test_a_step_stands_still_only_when_every_machine_of_it_is_down() -> None:
    one = [machine(S, 8, EVENING, down=True), machine(S, 8), machine(W, 6)]
    assert halts(one, NOW) == ()
    both = [machine(S, 8, EVENING, down=True), machine(S, 8, down=True)]
    assert halts(both, NOW) == (Halt("sterilising", EVENING),)
    # It should have been back and is not: nobody knows.
    assert halts(both, EVENING) == (Halt("sterilising", None),)


@pytest.fixture
def steriliser(site: Site) -> Machine:
    return Machine.objects.create(site=site, code="S1", kind=S, places=4, cycle_minutes=60)


@pytest.fixture
def needed(site: Site) -> Tray:
    """A packed tray that will be through at 13:00 and is needed at 17:00; and one in the store."""
    version = factories.configuration(site)
    tray = factories.tray(version, stage=Stage.PACKED, ready_at=NOW + timedelta(hours=6))
    technique = factories.technique(site)
    technique.sets.create(purpose="femur", options=[["BASE"]])
    factories.case(site, "C1", technique=technique, start=NOW + timedelta(hours=11))
    return tray


def verdict(site: Site) -> str:
    return str(coverage_now(site).report.case("C1").verdict)


@pytest.mark.usefixtures("needed")
def test_without_a_steriliser_nothing_comes_through_until_one_is_back(
    site: Site, steriliser: Machine, sterile_services: Person
) -> None:
    who: dict[str, Any] = {"machine": steriliser, "by": sterile_services, "now": NOW}
    assert scenario_now(site).trays["BASE/1"].ready == NOW + timedelta(hours=6)
    before = verdict(site)
    put_out_of_use(reason="test cycle failed", **who)
    assert scenario_now(site).trays["BASE/1"].ready == FOR_EVER
    assert scenario_now(site, outages=False).trays["BASE/1"].ready == NOW + timedelta(hours=6)
    assert verdict(site) == "not covered" != before
    put_back_into_use(**who)
    assert verdict(site) == before


def test_where_it_is_known_what_waits_goes_on_then_and_the_store_is_as_it_was(
    site: Site, steriliser: Machine, sterile_services: Person, needed: Tray
) -> None:
    HouseSettings.objects.filter(site=site).update(sterilising_places=4, sterilising_minutes=60)
    stored = factories.tray(needed.version, "BASE/2")
    back = NOW + timedelta(hours=2)
    who: dict[str, Any] = {"machine": steriliser, "by": sterile_services, "now": NOW}
    put_out_of_use(reason="broken", back_at=back, **who)
    said = scenario_now(site)
    # 360 min turnaround: nothing is stated of the steps before, so that all of it is ahead.
    assert said.trays["BASE/1"].ready == back + timedelta(minutes=360)
    assert said.trays["BASE/2"].ready == stored.ready_at
    # What comes back meanwhile begins then; what comes back later takes as long as ever.
    assert said.configurations["BASE"].turnaround_minutes == 360
    clock = Clock(said.site)
    meanwhile, later = minute(NOW + timedelta(hours=1)), minute(back)
    assert clock.after(meanwhile, 360) == clock.after(later, 360) == later + 360
    yesterday = minute(NOW - timedelta(days=3))
    assert clock.open_between(yesterday, later) == clock.open_between(yesterday, minute(NOW))


def test_a_use_in_a_fortnight_does_not_feel_an_outage_of_today(
    site: Site, steriliser: Machine, sterile_services: Person
) -> None:
    """One tray, twice on one day, with just the turnaround between; and once on the day itself."""
    stored = factories.tray(factories.configuration(site), ready_at=NOW - timedelta(days=1))
    technique = factories.technique(site)
    technique.sets.create(purpose="femur", options=[["BASE"]])
    fortnight = NOW + timedelta(days=14)
    # Over at 09:00, out at 09:15, 360 minutes, and needed an hour before: 16:15.
    for ref, start in (("C1", fortnight), ("C2", fortnight + timedelta(hours=9, minutes=15))):
        factories.case(site, ref, technique=technique, start=start)
    put_out_of_use(
        machine=steriliser,
        reason="broken",
        by=sterile_services,
        now=NOW,
        back_at=NOW + timedelta(hours=2),
    )
    report = coverage_now(site).report
    assert {str(report.case(ref).verdict) for ref in ("C1", "C2")} == {"covered"}
    today = factories.case(site, "C3", technique=technique, start=NOW - timedelta(hours=2))
    factories.promised_tray(today, stored)
    factories.case(site, "C4", technique=technique, start=NOW + timedelta(hours=7, minutes=15))
    assert str(coverage_now(site).report.case("C4").verdict) != "covered"


def test_a_tray_in_theatre_with_a_case_that_is_over_waits_too(
    site: Site, steriliser: Machine, sterile_services: Person
) -> None:
    used = factories.tray(factories.configuration(site), stage=Stage.IN_THEATRE, ready_at=NOW)
    back = NOW + timedelta(hours=9)
    put_out_of_use(machine=steriliser, reason="broken", by=sterile_services, now=NOW, back_at=back)
    assert scenario_now(site).trays[used.code].ready == back + timedelta(minutes=360)


def test_what_is_inside_a_machine_that_broke_goes_through_again(
    site: Site, steriliser: Machine, sterile_services: Person, needed: Tray
) -> None:
    Machine.objects.create(site=site, code="S2", kind=S, places=4, cycle_minutes=60)
    inside = factories.tray(
        needed.version, "BASE/2", stage=Stage.STERILISING, ready_at=NOW + timedelta(hours=1)
    )
    load = Load.objects.create(machine=steriliser, number=1, state=LoadState.RUNNING, opened_at=NOW)
    Pack.objects.create(tray=inside, number=1, first_seq=1, packed_at=NOW, load=load)
    put_out_of_use(machine=steriliser, reason="broken", by=sterile_services, now=NOW)
    said = scenario_now(site)
    assert said.trays["BASE/2"].ready == NOW + timedelta(minutes=360)
    # The other steriliser does: what is not inside keeps its forecast, and the step its places.
    assert said.trays["BASE/1"].ready == NOW + timedelta(hours=6)
    assert said.site.department == (DepartmentStage("sterilising", 4, 60),)


def test_three_queries_more_while_a_machine_is_out_of_use(
    site: Site, steriliser: Machine, needed: Tray, django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(21):
        scenario_now(site)
    Machine.objects.update(down_since=NOW, down_reason="leaks")
    with django_assert_num_queries(24):
        scenario_now(site)
