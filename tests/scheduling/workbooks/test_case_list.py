"""The case list: sent again and again, with the difference shown."""

from __future__ import annotations

from datetime import datetime

import pytest

from deploy.kit.imports.results import Outcome
from deploy.kit.models import Person, Site
from scheduling.models import Case, CaseStatus, Surgeon, Theatre, UnitReservation
from scheduling.operations.cases import start_case
from scheduling.operations.reservations import reserve_unit
from scheduling.workbooks.case_list import CaseList
from tests import factories
from tests.scheduling.workbooks.books import changes, proposed, reasons, written

LIST = CaseList()
START = datetime(2027, 7, 2, 8, 30)  # noqa: DTZ001  as typed: summer time in London
CASE = {
    "Case": "OG-1",
    "Start": START,
    "Minutes": 120,
    "Side": "left",
    "Theatre": "Theatre 1",
    "Surgeon": "Surgeon One",
}


@pytest.fixture(autouse=True)
def house(site: Site, surgeon: Person) -> None:
    Theatre.objects.create(site=site, code="Theatre 1")
    Theatre.objects.create(site=site, code="Theatre 2")
    Surgeon.objects.create(site=site, name="Surgeon Two")


def test_a_case_is_booked_at_the_local_time(site: Site, coordinator: Person) -> None:
    written(proposed(LIST, site, Cases=[CASE]), coordinator)
    case = Case.objects.get()
    assert (case.ref, case.minutes, case.priority, case.status) == (
        "OG-1",
        120,
        "elective",
        "booked",
    )
    assert case.start.isoformat() == "2027-07-02T07:30:00+00:00"
    again = proposed(LIST, site, Cases=[{**CASE, "Status": "booked"}])
    assert [row.outcome for row in again.comparison.rows] == [Outcome.SAME]


def test_a_moved_case_shows_the_difference(site: Site, coordinator: Person) -> None:
    written(proposed(LIST, site, Cases=[CASE]), coordinator)
    moved = {**CASE, "Theatre": "Theatre 2", "Surgeon": "Surgeon Two", "Priority": "urgent"}
    proposal = proposed(LIST, site, Cases=[moved])
    assert changes(proposal) == [
        ("Theatre", "Theatre 1", "Theatre 2"),
        ("Surgeon", "Surgeon One", "Surgeon Two"),
        ("Priority", "elective", "urgent"),
    ]
    written(proposal, coordinator)
    case = Case.objects.select_related("theatre", "surgeon").get()
    assert (str(case.theatre), str(case.surgeon), case.priority) == (
        "Theatre 2",
        "Surgeon Two",
        "urgent",
    )


def test_a_cancelled_case_frees_what_it_held_and_stays_cancelled(
    site: Site, coordinator: Person
) -> None:
    written(proposed(LIST, site, Cases=[CASE]), coordinator)
    unit = factories.unit(factories.implant(site))
    reserve_unit(case=Case.objects.get(), unit=unit, by=coordinator, now=factories.NOW)
    cancelled = {**CASE, "Status": "cancelled"}
    written(proposed(LIST, site, Cases=[cancelled]), coordinator)
    assert Case.objects.get().status == CaseStatus.CANCELLED
    assert not UnitReservation.objects.filter(freed_at=None).exists()
    again = proposed(LIST, site, Cases=[cancelled])
    assert [row.outcome for row in again.comparison.rows] == [Outcome.SAME]


def test_a_case_that_is_left_out_stays(site: Site, coordinator: Person) -> None:
    written(proposed(LIST, site, Cases=[CASE]), coordinator)
    written(proposed(LIST, site, Cases=[{**CASE, "Case": "OG-2"}]), coordinator)
    assert set(Case.objects.values_list("status", flat=True)) == {"booked"}


def test_all_faults_at_once(site: Site, coordinator: Person) -> None:
    written(proposed(LIST, site, Cases=[CASE]), coordinator)
    wrong = {**CASE, "Case": "OG-2", "Minutes": 0, "Theatre": "T9", "Surgeon": "Nobody"}
    proposal = proposed(
        LIST,
        site,
        Cases=[
            {**CASE, "Side": "right", "Theatre": None},
            {**wrong, "Status": "cancelled"},
        ],
    )
    assert reasons(proposal) == [
        "Side: OG-1 is booked LEFT, the row says RIGHT. Ask, and change it on the case's page.",
        "Theatre: OG-1 has Theatre 1. Say which it has now.",
        "Minutes: 1 to 1440.",
        "Theatre: there is no T9. Add it to the house's workbook.",
        "Surgeon: there is no Nobody. Add them to the house's workbook.",
        "Status: a case that was never booked can't be cancelled. Leave the row out.",
    ]


def test_a_case_that_has_begun_is_left_alone(site: Site, coordinator: Person) -> None:
    written(proposed(LIST, site, Cases=[CASE]), coordinator)
    start_case(case=Case.objects.get(), by=coordinator, now=factories.NOW)
    assert reasons(proposed(LIST, site, Cases=[{**CASE, "Minutes": 60}])) == [
        "Case: OG-1 is started. A workbook changes booked cases only."
    ]
