"""Only the sterile store holds trays that are ready; what went to a case is that case's."""

from __future__ import annotations

from datetime import timedelta

import pytest

from deploy.kit.models import Site
from scheduling.facts import scenario_now
from scheduling.models import Case, CaseStatus, HouseSettings
from tests import factories
from tests.factories import NOW
from trays.models import Tray, TrayMove
from trays.stages import Stage

LATER = NOW + timedelta(hours=6)  # The factory's turnaround, all of it in opening hours.


@pytest.fixture
def tray(site: Site) -> Tray:
    return factories.tray(factories.configuration(site))


@pytest.fixture
def case(site: Site) -> Case:
    return factories.case(site, "C1", technique=factories.technique(site))


def at(tray: Tray, stage: Stage, case_ref: str = "") -> Tray:
    """The tray as a row of the ledger would leave it, its forecast at now."""
    move, _ = TrayMove.objects.get_or_create(
        from_state=tray.stage, to_state=stage, kind="trial", defaults={"unsigned": True}
    )
    tray.movements.create(
        seq=tray.seq + 1, move=move, at=NOW, day=NOW.date(), ready_at=NOW, case_ref=case_ref
    )
    tray.refresh_from_db()
    return tray


@pytest.mark.parametrize("stage", [Stage.CLEANING, Stage.STERILISING, Stage.AWAITING_RELEASE])
def test_a_forecast_that_has_passed_begins_anew(site: Site, tray: Tray, stage: Stage) -> None:
    at(tray, stage)
    assert scenario_now(site).trays[tray.code].ready == LATER


def test_a_turnaround_is_never_less_than_the_steps_that_the_house_states(
    site: Site, tray: Tray
) -> None:
    stated = {"cleaning": 150, "assembly": 100}
    fields = {f"{step}_minutes": minutes for step, minutes in stated.items()}
    fields |= {f"{step}_places": 4 for step in stated}
    HouseSettings.objects.filter(site=site).update(**fields)
    assert scenario_now(site).configurations["BASE"].turnaround_minutes == 360
    more = {"sterilising_places": 4, "sterilising_minutes": 140, "transport_minutes": 20}
    HouseSettings.objects.filter(site=site).update(**more)
    base = scenario_now(site).configurations["BASE"]
    assert base.turnaround_minutes == 150 + 100 + 140 + 2 * 20
    assert base.fast_track_minutes == 270 + 2 * 20


def test_issued_to_a_case_it_is_that_cases(site: Site, tray: Tray, case: Case) -> None:
    at(tray, Stage.ISSUED, case.ref)
    scenario = scenario_now(site)
    assert scenario.cases[case.ref].reserved_trays == (tray.code,)
    assert scenario.trays[tray.code].ready == NOW


@pytest.mark.parametrize("stage", [Stage.ISSUED, Stage.IN_THEATRE])
def test_not_scanned_back_after_its_case_it_is_a_turnaround_away(
    site: Site, tray: Tray, case: Case, stage: Stage
) -> None:
    at(tray, stage, case.ref)
    case.status = CaseStatus.ENDED
    case.save()
    assert scenario_now(site).trays[tray.code].ready == LATER


def test_in_theatre_for_nobody_known_it_is_a_turnaround_away(site: Site, tray: Tray) -> None:
    at(tray, Stage.IN_THEATRE)
    assert scenario_now(site).trays[tray.code].ready == LATER
