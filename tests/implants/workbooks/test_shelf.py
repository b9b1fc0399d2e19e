"""The shelf's workbook, on both databases."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

import pytest
from pytest_django import DjangoAssertNumQueries

from deploy.kit.imports.importing import Proposal, import_workbook, propose
from deploy.kit.imports.results import Outcome
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.values import Value
from deploy.kit.workbooks.writing import write_workbook
from implants.models import Implant, Unit, UnitMovement
from implants.operations.shelf import return_to_supplier
from implants.states import UnitState
from implants.workbooks.shelf import Shelf
from implants.workbooks.shelf_rows import SHEET
from tests import factories

SHELF = Shelf()
BOX = {"REF": "STEM-12", "LOT": "L1", "Serial": "S1", "Use by": date(2031, 1, 31), "Place": "A-01"}
ALIKE = {"REF": "STEM-12", "LOT": "L2", "Use by": date(2031, 1, 31), "Place": "A-02"}


@pytest.fixture
def stem(site: Site) -> Implant:
    return factories.implant(site)


def proposed(site: Site, *rows: Mapping[str, Value | None]) -> Proposal:
    return propose(SHELF, write_workbook(SHELF.spec, {SHEET: rows}), site=site, now=factories.NOW)


def written(site: Site, by: Person, *rows: Mapping[str, Value | None]) -> Proposal:
    done = import_workbook(proposed(site, *rows), by=by, now=factories.NOW)
    assert done.ok, done.comparison.reasons()
    return done


def only(proposal: Proposal) -> tuple[Outcome, tuple[str, ...]]:
    (row,) = proposal.comparison.rows
    return row.outcome, row.reasons


def test_a_new_box_is_received_by_the_person(
    site: Site, stem: Implant, coordinator: Person
) -> None:
    written(site, coordinator, BOX)
    unit = Unit.objects.get()
    assert (unit.code, unit.state, unit.location, unit.serial) == (
        "B000001",
        UnitState.ON_THE_SHELF,
        "A-01",
        "S1",
    )
    movement = UnitMovement.objects.get()
    assert (movement.seq, movement.move.kind, movement.by) == (1, "receive", coordinator.user)
    assert only(proposed(site, BOX)) == (Outcome.SAME, ())


def test_a_box_on_its_way_is_awaited_at_the_local_time(
    site: Site, stem: Implant, coordinator: Person
) -> None:
    typed = datetime(2027, 7, 1, 8, 30)  # noqa: DTZ001  as typed: summer time in London
    written(site, coordinator, {**BOX, "Expected": typed})
    unit = Unit.objects.get()
    assert unit.state == UnitState.AWAITED
    assert unit.expected_at is not None
    assert unit.expected_at.isoformat() == "2027-07-01T07:30:00+00:00"


def test_a_box_on_its_way_has_no_label_to_read_yet(
    site: Site, stem: Implant, coordinator: Person
) -> None:
    typed = datetime(2027, 3, 9, 12)  # noqa: DTZ001  as typed
    coming = {"REF": "STEM-12", "Use by": date(2031, 1, 31), "Expected": typed}
    written(site, coordinator, coming)
    unit = Unit.objects.get()
    assert (unit.state, unit.lot, unit.serial) == (UnitState.AWAITED, "", "")


def test_a_box_on_hold_is_kept_in_quarantine(
    site: Site, stem: Implant, coordinator: Person
) -> None:
    written(site, coordinator, {**BOX, "On hold": "seal broken"})
    unit = Unit.objects.get()
    assert (unit.state, unit.hold) == (UnitState.QUARANTINE, "seal broken")


def test_boxes_alike_are_counted_not_doubled(
    site: Site, stem: Implant, coordinator: Person
) -> None:
    written(site, coordinator, {**ALIKE, "Number": 3})
    assert only(proposed(site, {**ALIKE, "Number": 3})) == (Outcome.SAME, ())
    done = written(site, coordinator, {**ALIKE, "Number": 5})
    assert done.comparison.rows[0].outcome is Outcome.CHANGED
    assert Unit.objects.count() == 5


def test_a_workbook_takes_no_box_away(site: Site, stem: Implant, coordinator: Person) -> None:
    written(site, coordinator, {**ALIKE, "Number": 3})
    assert only(proposed(site, {**ALIKE, "Number": 2})) == (
        Outcome.REFUSED,
        (
            "Number: 3 of them are on the shelf or on their way. A workbook takes no box away: "
            "count the place, or record what became of the others.",
        ),
    )


def test_a_box_is_put_elsewhere_through_its_ledger(
    site: Site, stem: Implant, coordinator: Person
) -> None:
    written(site, coordinator, BOX)
    written(site, coordinator, {**BOX, "Place": "B-09"})
    unit = Unit.objects.get()
    assert (unit.location, unit.seq) == ("B-09", 2)


def test_what_a_box_is_is_not_changed_by_a_workbook(
    site: Site, stem: Implant, coordinator: Person
) -> None:
    written(site, coordinator, BOX)
    assert only(proposed(site, {**BOX, "LOT": "L9"})) == (
        Outcome.REFUSED,
        (
            "LOT: the house has L1 for box B000001. What a box is, is corrected at the box, by two "
            "people.",
        ),
    )


def test_no_box_is_brought_back(site: Site, stem: Implant, coordinator: Person) -> None:
    written(site, coordinator, BOX)
    return_to_supplier(unit=Unit.objects.get(), by=coordinator, now=factories.NOW)
    assert only(proposed(site, BOX))[1] == (
        "Box: B000001 is gone (returned to supplier). A workbook brings no box back.",
    )


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ({"REF": "NONE"}, "REF: NONE is not in the catalogue. Import the catalogue first."),
        (
            {"LOT": None, "Serial": None},
            "LOT: a box has a LOT or a serial. Copy it from the label.",
        ),
        (
            {"Use by": None},
            "Use by: give the date, or yes in “Does not expire”; one of the two.",
        ),
        (
            {"Does not expire": True},
            "Use by: give the date, or yes in “Does not expire”; one of the two.",
        ),
        (
            {"Use by": date(2027, 2, 28)},
            "Use by: 2027-02-28 has passed. Take the box off the shelf.",
        ),
        ({"Number": 2}, "Number: a row with a box code or a serial is one box."),
    ],
)
def test_what_is_refused(
    row: Mapping[str, Value | None], reason: str, site: Site, stem: Implant
) -> None:
    assert only(proposed(site, {**BOX, **row})) == (Outcome.REFUSED, (reason,))


def test_the_use_by_date_is_inclusive(site: Site, stem: Implant) -> None:
    assert only(proposed(site, {**BOX, "Use by": factories.NOW.date()})) == (Outcome.NEW, ())


@pytest.mark.parametrize("column", ["Box", "Serial"])
def test_two_boxes_do_not_share_a_code(site: Site, stem: Implant, column: str) -> None:
    one = {**ALIKE, "Number": None, column: "B-1"}
    _, second = proposed(site, one, {**one, "LOT": "OTHER"}).comparison.rows
    assert second.reasons == (f"{column}: row 2 has B-1 too. Each box has its own.",)


def test_two_rows_about_the_same_are_refused(site: Site, stem: Implant) -> None:
    first, second = proposed(site, ALIKE, ALIKE).comparison.rows
    assert first.outcome is Outcome.NEW
    assert second.reasons == ("Row 2 is about the same. Put both into one row with their number.",)


def test_a_box_of_another_site_is_not_seen(site: Site, stem: Implant, stranger: Person) -> None:
    factories.unit(factories.implant(stranger.site), "U9", serial="S1")
    assert only(proposed(site, BOX)) == (Outcome.NEW, ())


def test_looking_costs_two_queries_however_many_rows(
    site: Site,
    stem: Implant,
    coordinator: Person,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    data = write_workbook(
        SHELF.spec, {SHEET: [{**BOX, "Serial": f"S{number}"} for number in range(30)]}
    )
    with django_assert_num_queries(2):
        propose(SHELF, data, site=site, now=factories.NOW)
