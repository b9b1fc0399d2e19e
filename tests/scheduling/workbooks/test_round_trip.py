"""What goes out comes back as the same; and an empty house is filled from workbooks alone."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from deploy.kit.imports.importing import export_workbook, import_workbook, propose
from deploy.kit.imports.kind import ImportKind
from deploy.kit.imports.results import Outcome
from deploy.kit.models import Site
from deploy.kit.workbooks.writing import write_workbook
from implants.models import Unit
from implants.operations.counts import open_count
from implants.workbooks.shelf_count import ShelfCount
from scheduling.coverage.report_json import report_to_json
from scheduling.coverage.scenario_json import read_scenario
from scheduling.models import HouseSettings
from scheduling.queries import coverage_now
from scheduling.scenario_files import load_scenario
from scheduling.workbooks.registry import KINDS
from tests import factories

DEMONSTRATION = Path("fixtures/demonstration.json")
NOW = datetime(2027, 3, 1, 6, 45, tzinfo=UTC)


@pytest.fixture
def house(db: None) -> Site:
    """The demonstration hospital, where one place is being counted."""
    house = load_scenario(read_scenario(DEMONSTRATION.read_text()))
    place = Unit.objects.exclude(location="").order_by("pk")[0].location
    by = factories.person(house, "coordinator-1", "implant coordinator")
    open_count(places=[place], is_blind=False, by=by, now=house.now())
    return house


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.spec.kind)
def test_what_goes_out_comes_back_as_the_same(kind: ImportKind, house: Site) -> None:
    proposal = propose(kind, export_workbook(kind, house), site=house, now=house.now())
    assert proposal.reading.faults == ()
    assert [row for row in proposal.comparison.rows if row.outcome is not Outcome.SAME] == []
    assert len(proposal.comparison.rows) > 0


def for_another_house(kind: ImportKind, house: Site) -> bytes:
    """The house's workbook; a tray of another house has another asset identifier, and a box whose
    date has passed is not taken."""
    passed = NOW.date()
    rows = {
        sheet: [
            {name: value for name, value in row.items() if name != "Asset"}
            for row in rows
            if not (isinstance(day := row.get("Use by"), date) and day < passed)
        ]
        for sheet, rows in kind.rows(house).items()
    }
    return write_workbook(kind.spec, rows)


def test_an_empty_house_is_filled_from_workbooks_alone(house: Site) -> None:
    empty = Site.objects.create(
        code="second",
        name="Second house",
        timezone=house.timezone,
        clock_set_to=NOW,
        asset_prefix="0288888",
    )
    person = factories.person(empty, "coordinator-2", "implant coordinator")
    second = factories.person(empty, "coordinator-3", "implant coordinator")
    for kind in KINDS:
        if isinstance(kind, ShelfCount):
            continue  # A count is of the boxes that lie in its own house.
        proposal = propose(kind, for_another_house(kind, house), site=empty, now=NOW)
        done = import_workbook(proposal, by=person, now=NOW, second=second)
        assert done.ok, [(row.what, row.reasons) for row in done.comparison.rows if row.reasons]

    # Promises and confirmations are acts of people, and no workbook brings them.
    acted = {
        case.ref
        for case in coverage_now(house).scenario.cases.values()
        if case.confirmed or case.reserved_trays or case.reserved_units
    }

    def verdicts(site: Site) -> dict[str, object]:
        found = coverage_now(site)
        report = report_to_json(found.report, found.scenario)
        return {
            case["case"]: (case["verdict"], case["faults"], case["questions"])
            for case in report["cases"]
            if case["case"] not in acted
        }

    assert HouseSettings.objects.filter(site=empty).exists()
    here, there = verdicts(empty), verdicts(house)
    differ = {ref: (here.get(ref), there[ref]) for ref in there if here.get(ref) != there[ref]}
    assert differ == {}
