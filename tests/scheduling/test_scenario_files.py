"""A scenario into an empty database and out again: the same report, everything or nothing."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from deploy.kit.models import Site
from implants.models import Implant, Unit
from scheduling.coverage.engine import decide
from scheduling.coverage.report_json import expected_of, report_to_json
from scheduling.coverage.scenario_json import ScenarioFaults, read_scenario, write_scenario
from scheduling.facts import scenario_now
from scheduling.models import Case, HouseSettings, PlanVersion, UnitReservation
from scheduling.queries import coverage_now
from scheduling.scenario_files import Clock, NotEmpty, export_scenario, load_scenario
from tests.coverage_engine import random_scenarios
from tests.coverage_engine.small_scenario import RECORDED, small
from trays.models import Instrument, Tray
from trays.stages import Stage


def scenario(data: Any = None) -> Any:
    return read_scenario(json.dumps(small() if data is None else data))


# -- load → check → export --------------------------------------------------------------------


@pytest.mark.django_db
@pytest.mark.parametrize("path", RECORDED, ids=lambda path: path.stem)
def test_recorded_scenario_through_the_database(path: Path) -> None:
    """Load → check gives the recorded result; load → export gives back the same scenario."""
    stated = read_scenario(path.read_text("utf-8"))
    site = load_scenario(stated)
    found = coverage_now(site)
    expected = json.loads(path.with_suffix(".expected.json").read_text("utf-8"))
    assert expected_of(report_to_json(found.report, found.scenario)) == expected
    assert read_scenario(export_scenario(site)) == stated


@pytest.mark.django_db
def test_one_of_everything_through_the_database() -> None:
    stated = scenario()
    site = load_scenario(stated)
    assert scenario_now(site) == stated
    assert export_scenario(site) == write_scenario(stated)
    assert coverage_now(site).report == decide(stated)


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(6))
def test_random_scenarios_through_the_database(seed: int) -> None:
    data = random_scenarios.scenario(seed)
    for case in data["cases"]:  # a box promised to two cases is refused, which has its own test
        case.pop("reserved_units", None)
    stated = scenario(data)
    site = load_scenario(stated)
    exported = read_scenario(export_scenario(site))
    assert exported == _sorted_reservations(stated)
    assert decide(exported) == decide(stated)


def _sorted_reservations(stated: Any) -> Any:
    data = json.loads(write_scenario(stated))
    for case in data["cases"]:
        for key in ("reserved_trays", "reserved_units"):
            if key in case:
                case[key].sort()
    return scenario(data)


# -- what is stored ---------------------------------------------------------------------------


@pytest.mark.django_db
def test_each_tray_gets_the_stage_that_says_the_same() -> None:
    data = small()
    data["trays"].append({"code": "BASE/4", "configuration": "BASE", "ready": "2027-03-01T12:00"})
    load_scenario(scenario(data))
    assert dict(Tray.objects.values_list("code", "stage")) == {
        "BASE/1": Stage.STERILE_STORE,
        "BASE/2": Stage.WITH_SUPPLIER,
        "BASE/3": Stage.QUARANTINE,
        "BASE/4": Stage.STERILISING,
    }
    assert dict(Tray.objects.values_list("code", "owner"))["BASE/2"] == "loan"


@pytest.mark.django_db
def test_the_clock_stands_at_the_scenarios_now() -> None:
    stated = scenario()
    site = load_scenario(stated, site_code="ottermere")
    assert (site.code, site.now(), site.clock_is_real) == ("ottermere", stated.site.now, False)
    assert site.clock_started is None


@pytest.mark.django_db
def test_the_clock_runs_on_from_the_scenarios_now() -> None:
    stated = scenario()
    before = timezone.now()
    site = load_scenario(stated, clock=Clock.RUNS)
    assert site.clock_set_to == stated.site.now
    assert site.clock_started is not None
    assert before <= site.clock_started <= timezone.now()


@pytest.mark.django_db
def test_the_clock_is_the_real_one() -> None:
    site = load_scenario(scenario(), clock=Clock.REAL)
    assert site.clock_is_real
    assert abs(site.now() - timezone.now()) < timedelta(minutes=2)


@pytest.mark.django_db
def test_the_sites_code_is_made_from_its_name() -> None:
    assert load_scenario(scenario()).code == "ottermere-general"


# -- what is refused --------------------------------------------------------------------------


def nothing_is_there() -> bool:
    kinds = (Site, HouseSettings, Instrument, Implant, Unit, Tray, Case, PlanVersion)
    return not any(kind.objects.exists() for kind in kinds)


@pytest.mark.django_db
def test_a_database_with_a_site_is_refused(site: Site) -> None:
    with pytest.raises(NotEmpty, match="the database is not empty: it holds Ottermere General"):
        load_scenario(scenario())
    assert not Instrument.objects.exists()


@pytest.mark.django_db
def test_what_the_database_refuses_is_a_fault_with_its_place_and_nothing_is_loaded() -> None:
    data = small()
    data["cases"].append({**data["cases"][0], "ref": "C2", "theatre": "T" * 65})
    data["shelf"] = [
        {"unit": "U1", "implant": "STEM-12", "serial": "S1", "expiry": None},
        {"unit": "U2", "implant": "STEM-12", "serial": "S1", "expiry": None},
        {"unit": "U3", "implant": "STEM-12", "lot": "L" * 41, "expiry": None},
    ]
    data["implants"].append({**data["implants"][0], "ref": "STEM-13"})
    data["techniques"][0]["sets"][0]["purpose"] = "P" * 121
    with pytest.raises(ScenarioFaults) as refused:
        load_scenario(scenario(data))
    assert refused.value.faults == [
        f'shelf[2].lot: longer than 40 characters: "{"L" * 41}"',
        f'cases[1].theatre: longer than 64 characters: "{"T" * 65}"',
        f'techniques[0].sets[0].purpose: longer than 120 characters: "{"P" * 76}...',
        'implants[1].gtin: given twice: "00000002345673" (first in implants[0])',
        'shelf[1].serial: given twice: "S1" (first in shelf[0])',
    ]
    assert nothing_is_there()


@pytest.mark.django_db
def test_the_same_serial_of_two_implants_and_a_tray_of_two_cases_are_loaded() -> None:
    data = small()
    data["implants"].append({"ref": "HEAD", "role": "head"})
    data["shelf"][0]["serial"] = "S1"
    data["shelf"].append({"unit": "U3", "implant": "HEAD", "serial": "S1", "expiry": None})
    later = {"ref": "C2", "start": "2026-03-05T08:30", "reserved_units": ["U2"]}
    data["cases"].append({**data["cases"][0], **later})
    site = load_scenario(scenario(data))
    assert UnitReservation.objects.count() == 2
    assert scenario_now(site) == scenario(data)
