"""The database as the engine's input: a fixed number of queries, and nothing that flatters."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from deploy.kit.models import Site
from implants.models import Supplier, Unit
from implants.operations.shelf import return_to_supplier
from implants.operations.theatre import pick_unit, record_implanted, record_wasted
from scheduling.coverage import values
from scheduling.coverage.report import Verdict
from scheduling.coverage.scenario_json import ScenarioFaults, read_scenario
from scheduling.facts import scenario_now
from scheduling.facts_of_trays import missing_now
from scheduling.models import (
    CaseStatus,
    ConfirmationGiven,
    HouseSettings,
)
from scheduling.queries import coverage_now
from scheduling.scenario_files import export_scenario
from scheduling.words import NO_PLAN
from tests import factories
from tests.factories import NOW
from trays.stages import Stage

QUERIES = 21


def planned(site: Site, **plan: Any) -> Any:
    """A case with a technique that wants its stem, and one box of that stem."""
    factories.unit(factories.implant(site, "STEM-12", size=12))
    technique = factories.technique(site)
    technique.confirmations.create(code="seen on film")
    plan.setdefault("components", {"stem": {"size": 12}})
    return factories.case(site, technique=technique, **plan)


def test_the_number_of_queries_does_not_grow(site: Site, django_assert_num_queries: Any) -> None:
    with django_assert_num_queries(QUERIES - 4):
        scenario_now(site)  # the parts of no technique are not asked for
    planned(site)
    with django_assert_num_queries(QUERIES):
        scenario_now(site)
    version = factories.configuration(site, contents={factories.instrument(site): 2})
    for number in range(3):
        tray = factories.tray(version, f"BASE/{number}")
        tray.missing_lines.create(instrument=version.contents.get().instrument, quantity=1)
        case = factories.case(
            site, f"C{number + 2}", technique=factories.technique(site, f"T{number}")
        )
        factories.promised_tray(case, tray)
    with django_assert_num_queries(QUERIES):
        coverage_now(site)


def supplied(site: Site, ref: str, supplier: Supplier) -> None:
    item = factories.implant(site, ref)
    item.supplier = supplier
    item.save()


def test_one_more_where_an_item_has_a_supplier(site: Site, django_assert_num_queries: Any) -> None:
    planned(site)
    for ref, code in (("STEM-13", "NORTH"), ("STEM-14", "SOUTH")):
        supplier = factories.supplier(site, code)
        supplier.closed_dates.create(day=date(2027, 3, 2))
        supplied(site, ref, supplier)
    with django_assert_num_queries(QUERIES + 1):
        scenario_now(site)


def test_a_supplier_takes_orders_on_its_own_terms(site: Site) -> None:
    north = factories.supplier(site, "NORTH", cut_off_minute=660)
    north.closed_dates.create(day=date(2027, 3, 2))
    supplied(site, "STEM-12", north)
    supplied(site, "STEM-13", factories.supplier(site, "SOUTH", lead_days=3))
    found = scenario_now(site).implants
    tuesday = frozenset({date(2027, 3, 2)})
    assert found["STEM-12"].supplier == values.Supplier("NORTH", 660, tuesday)
    assert found["STEM-13"].supplier == values.Supplier("SOUTH")
    assert found["STEM-13"].lead_days == 3


def test_another_sites_records_are_not_seen(site: Site, stranger: Any) -> None:
    planned(stranger.site)
    found = scenario_now(site)
    assert (found.cases, found.techniques, found.implants, found.shelf) == ({}, {}, {}, {})


def test_now_is_the_sites_moment_unless_another_is_given(site: Site) -> None:
    assert scenario_now(site).site.now == NOW
    later = NOW + timedelta(hours=1, seconds=30)
    assert scenario_now(site, later).site.now == NOW + timedelta(hours=1)


def test_a_site_without_house_settings_has_the_defaults(site: Site) -> None:
    stated = scenario_now(site).site
    HouseSettings.objects.all().delete()
    assert scenario_now(site).site == stated
    assert stated.opening == dict.fromkeys(range(5), (360, 1320))


# -- cases ------------------------------------------------------------------------------------


def test_cases_that_ended_or_were_cancelled_ask_for_nothing(site: Site) -> None:
    for status in CaseStatus:
        factories.case(site, status.value, status=status)
    assert set(scenario_now(site).cases) == {"booked", "started"}


def test_the_plan_in_force_is_the_one_with_the_highest_number(site: Site) -> None:
    case = planned(site, facts={"cup": "new"})
    first = case.plans.get()
    ConfirmationGiven.objects.create(plan=first, code="seen on film", at=NOW)
    assert scenario_now(site).cases["C1"].confirmed == {"seen on film"}
    case.plans.create(
        number=2,
        technique=first.technique,
        components={"stem": {"size": 12.5, "quantity": 2}},
        facts={"cup": "retained"},
        made_at=NOW,
    )
    found = scenario_now(site).cases["C1"]
    assert found.components["stem"].quantity == 2
    assert found.facts == {"cup": "retained"}
    # A confirmation is given for one version of the plan.
    assert found.confirmed == frozenset()


def test_an_answer_that_the_technique_no_longer_asks_for_says_nothing(site: Site) -> None:
    plan = planned(site).plans.get()
    ConfirmationGiven.objects.create(plan=plan, code="seen on film", at=NOW)
    plan.technique.confirmations.all().delete()
    assert scenario_now(site).cases["C1"].confirmed == frozenset()
    read_scenario(export_scenario(site))


def test_a_case_without_a_plan_is_not_covered(site: Site) -> None:
    factories.case(site)
    found = coverage_now(site)
    assert found.scenario.cases["C1"].technique == NO_PLAN
    report = found.report.case("C1")
    assert (report.verdict, report.faults) == (Verdict.NOT_COVERED, ("nothing is asked for",))
    read_scenario(export_scenario(site))


def test_only_live_reservations_of_live_cases_count(site: Site) -> None:
    case = planned(site)
    unit = factories.unit(factories.implant(site, "HEAD"), "U2")
    tray = factories.tray(factories.configuration(site))
    factories.promised_unit(case, unit, freed_at=NOW)
    factories.promised_tray(case, tray)
    found = scenario_now(site).cases["C1"]
    assert (found.reserved_units, found.reserved_trays) == ((), ("BASE/1",))
    factories.promised_unit(case, unit)
    assert scenario_now(site).cases["C1"].reserved_units == ("U2",)


def test_a_stored_plan_or_technique_that_breaks_the_format_is_no_half_plan(site: Site) -> None:
    case = planned(site, components={"stem": {"colour": "red"}})
    case.plans.get().technique.sets.create(purpose="femoral", options=[["GONE"]])
    with pytest.raises(ScenarioFaults) as refused:
        coverage_now(site)
    known = "ref, system, size, offset, diameter, length, neck_length, taper, inner_diameter"
    assert refused.value.faults == [
        'techniques["REVISION-STEM"].sets[0].options[0][0]: no such configuration: "GONE"',
        'cases["C1"].components.stem.colour: unknown key '
        f"(known: {known}, group, material, side, distal_diameter, seat_offset, quantity)",
    ]


# -- trays and boxes --------------------------------------------------------------------------


def test_times_with_seconds_never_flatter(site: Site) -> None:
    ragged = datetime(2027, 3, 1, 9, 0, 20, tzinfo=UTC)
    version = factories.configuration(site)
    factories.tray(version, ready_at=ragged, sterile_until=ragged)
    factories.unit(factories.implant(site), expected_at=ragged)
    found = scenario_now(site)
    tray = found.trays["BASE/1"]
    assert tray.ready == datetime(2027, 3, 1, 9, 1, tzinfo=UTC)
    assert tray.sterile_until == datetime(2027, 3, 1, 9, 0, tzinfo=UTC)
    assert found.shelf["U001"].arrives == datetime(2027, 3, 1, 9, 1, tzinfo=UTC)


@pytest.mark.parametrize("stage", [Stage.QUARANTINE, Stage.REPAIR, Stage.WITH_SUPPLIER])
def test_a_tray_on_hold_is_not_available(site: Site, stage: Stage) -> None:
    factories.tray(factories.configuration(site), stage=stage)
    assert scenario_now(site).trays["BASE/1"] == values.Tray("BASE/1", "BASE", withdrawn=True)


def test_a_tray_assembled_to_an_older_sheet_lacks_what_the_new_one_adds(site: Site) -> None:
    reamer = factories.instrument(site, "REAM-12")
    broach = factories.instrument(site, "BRCH-12", "broach")
    version = factories.configuration(site, contents={reamer: 1})
    factories.tray(version)
    newer = version.configuration.versions.create(number=2, made_at=NOW)
    newer.contents.create(instrument=reamer, quantity=2)
    newer.contents.create(instrument=broach, quantity=1)
    found = scenario_now(site)
    assert found.configurations["BASE"].contents == {"REAM-12": 2, "BRCH-12": 1}
    assert found.trays["BASE/1"].missing == {"REAM-12": 1, "BRCH-12": 1}


@pytest.mark.parametrize(
    ("in_force", "sheet", "lacking", "missing"),
    [
        ({"A": 2}, {"A": 2}, {}, {}),
        ({"A": 2}, {"A": 2}, {"A": 1}, {"A": 1}),
        ({"A": 2}, {"A": 2}, {"A": 9, "B": 1}, {"A": 2}),  # a note that cannot be right
        ({"A": 2, "B": 1}, {"A": 1}, {"A": 1}, {"A": 2, "B": 1}),
        ({"A": 1}, {"A": 3, "B": 1}, {"A": 1}, {}),  # more than is wanted, and something else
        ({"A": 1}, {}, {}, {"A": 1}),
        ({}, {"A": 1}, {"A": 1}, {}),
    ],
)
def test_what_a_tray_lacks_of_the_sheet_in_force(
    in_force: dict[str, int],
    sheet: dict[str, int],
    lacking: dict[str, int],
    missing: dict[str, int],
) -> None:
    assert missing_now(in_force, sheet, lacking) == missing


def test_a_box_that_does_not_expire_says_so(site: Site) -> None:
    factories.unit(factories.implant(site), does_not_expire=True)
    assert scenario_now(site).shelf["U001"].expiry is None


# -- by state -----------------------------------------------------------------------------------


def picked_by(coordinator: Any, site: Site, ref: str) -> None:
    pick_unit(unit=Unit.objects.get(site=site), case_ref=ref, by=coordinator, now=NOW)


def test_a_picked_box_is_reserved_for_its_case(site: Site, coordinator: Any) -> None:
    planned(site)
    picked_by(coordinator, site, "C1")
    found = scenario_now(site)
    assert found.cases["C1"].reserved_units == ("U001",)
    assert found.shelf["U001"].hold == ""


def test_a_picked_and_reserved_box_is_reserved_once(site: Site, coordinator: Any) -> None:
    factories.promised_unit(planned(site), Unit.objects.get(site=site))
    picked_by(coordinator, site, "C1")
    assert scenario_now(site).cases["C1"].reserved_units == ("U001",)


def test_a_box_that_was_not_put_back_serves_nobody(site: Site, coordinator: Any) -> None:
    planned(site)
    picked_by(coordinator, site, "GONE")
    assert scenario_now(site).shelf["U001"].hold == "picked for case GONE"


def test_what_is_gone_or_not_entered_is_not_on_the_shelf(site: Site, coordinator: Any) -> None:
    implant = factories.implant(site)
    for number, act in enumerate((record_implanted, record_wasted)):
        unit = factories.unit(implant, f"U{number}")
        why = {"reason": "opened"} if act is record_wasted else {}
        act(unit=unit, case_ref="C1", by=coordinator, now=NOW, **why)
    unit = factories.unit(implant, "U2")
    return_to_supplier(unit=unit, by=coordinator, now=NOW)
    Unit.objects.create(site=site, implant=implant, code="U3", does_not_expire=True)
    factories.unit(implant, "U4")
    assert set(scenario_now(site).shelf) == {"U4"}


def test_a_tray_that_was_not_entered_is_nowhere(site: Site) -> None:
    tray = factories.tray(factories.configuration(site))
    tray.pk, tray.code, tray.asset, tray.stage, tray.seq = None, "BASE/2", "02999992", "", 0
    tray.ready_at = None
    tray.save(force_insert=True)
    assert set(scenario_now(site).trays) == {"BASE/1"}


def test_a_plans_windows_change_what_its_own_case_needs(site: Site) -> None:
    for size in (11, 12, 13, 14):
        factories.implant(site, f"STEM-{size}", size=size)
    technique = factories.technique(site)
    ladder = {"ladder": {"at": {"plan": "stem.size"}, "above": 1}}
    technique.rules.create(role="stem", need="contingency", select={"size": ladder})
    plan = {"technique": technique, "components": {"stem": {"size": 12}}}
    factories.case(site, "USUAL", **plan)
    wide = factories.case(site, "WIDE", **plan)
    wide.plans.update(windows={"stem.size": [1, 2]})
    report = coverage_now(site).report
    needs = {
        ref: [line.item for line in report.case(ref).lines if line.need == "contingency"]
        for ref in ("USUAL", "WIDE")
    }
    assert needs == {"USUAL": ["STEM-13"], "WIDE": ["STEM-11", "STEM-13", "STEM-14"]}


def test_windows_that_break_the_format_are_a_fault_and_no_verdict(site: Site) -> None:
    planned(site).plans.update(windows={"stem.size": "wide"})
    with pytest.raises(ScenarioFaults, match=r'cases\["C1"\].windows.stem.size'):
        scenario_now(site)
