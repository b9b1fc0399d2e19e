from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from deploy.kit.models import Person, Site
from scheduling.coverage.values import Priority
from scheduling.errors import NotUsable, Refused
from scheduling.models import (
    Case,
    CaseStatus,
    Side,
    Theatre,
    TrayReservation,
    UnitReservation,
)
from scheduling.operations.cases import (
    Move,
    book_case,
    cancel_case,
    end_case,
    move_case,
    move_cases,
    moved_to,
    start_case,
)
from scheduling.operations.reservations import reserve_tray, reserve_unit, what_moves_free
from tests import factories
from tests.factories import NOW
from trays.hold_kinds import HoldKind
from trays.operations.holds import hold_for

TOMORROW = NOW + timedelta(days=1, minutes=90)


@pytest.fixture
def case(site: Site) -> Case:
    return factories.case(site, "C1")


@pytest.fixture
def holding(case: Case, coordinator: Person) -> Case:
    """The case, holding a box that is in date until the 5th, and a tray."""
    unit = factories.unit(factories.implant(case.site), expiry=date(2027, 3, 5))
    tray = factories.tray(factories.configuration(case.site))
    reserve_unit(case=case, unit=unit, by=coordinator, now=NOW)
    reserve_tray(case=case, tray=tray, by=coordinator, now=NOW)
    return case


def held() -> tuple[int, int]:
    """How many boxes and trays are promised."""
    return (
        UnitReservation.objects.filter(freed_at=None).count(),
        TrayReservation.objects.filter(freed_at=None).count(),
    )


def test_books(site, coordinator, surgeon):
    theatre = Theatre.objects.create(site=site, code="T1")
    case = book_case(
        ref=" C1 ",
        start=TOMORROW,
        minutes=180,
        side=Side.LEFT,
        theatre=theatre,
        surgeon=surgeon.user.surgeon,
        priority=Priority.URGENT,
        by=coordinator,
        now=NOW,
    )
    case.refresh_from_db()
    assert (case.site, case.ref, case.start, case.minutes) == (site, "C1", TOMORROW, 180)
    assert (case.theatre, case.surgeon, case.side) == (theatre, surgeon.user.surgeon, "left")
    assert (case.priority, case.status) == ("urgent", "booked")


def test_a_booking_names_all_its_faults_at_once(coordinator, stranger):
    theirs = Theatre.objects.create(site=stranger.site, code="T1")
    with pytest.raises(NotUsable) as refused:
        book_case(
            ref=" ",
            start=datetime(2027, 3, 2, 8, 30),  # noqa: DTZ001  the fault under test
            minutes=0,
            side="both",  # type: ignore[arg-type]
            theatre=theirs,
            by=coordinator,
            now=NOW,
        )
    assert refused.value.values["faults"] == [
        "start: says no time zone",
        "minutes: 1 or more",
        "theatre: of another site",
        "ref: a case needs a reference",
        "side: left or right",
    ]
    assert not Case.objects.exists()


def test_a_reference_is_given_once(case, coordinator):
    with pytest.raises(Refused, match=r"^There is already a case C1\.$"):
        book_case(ref="C1", start=TOMORROW, minutes=60, side=Side.LEFT, by=coordinator, now=NOW)


def test_a_move_keeps_what_the_case_holds(holding, coordinator):
    moved = move_case(case=holding, start=TOMORROW + timedelta(days=3), by=coordinator, now=NOW)
    moved.refresh_from_db()
    assert moved.start == TOMORROW + timedelta(days=3)
    assert held() == (1, 1)


def test_a_move_frees_a_box_that_is_out_of_date_by_then(holding, coordinator):
    move_case(case=holding, start=TOMORROW + timedelta(days=4), by=coordinator, now=NOW)
    assert held() == (0, 1)


def test_a_move_frees_a_tray_that_another_case_then_has_in_theatre(holding, site, coordinator):
    later = factories.case(site, "C2", start=TOMORROW + timedelta(days=1))
    tray = holding.tray_reservations.get().tray
    reserve_tray(case=later, tray=tray, by=coordinator, now=NOW)
    move_case(case=holding, start=TOMORROW + timedelta(days=1), by=coordinator, now=NOW)
    assert held() == (1, 1)
    assert TrayReservation.objects.get(freed_at=None).case == later


def test_a_move_takes_the_promised_times_along(holding, coordinator):
    start = TOMORROW + timedelta(days=1)
    move_case(case=holding, start=start, minutes=60, by=coordinator, now=NOW)
    tray, unit = holding.tray_reservations.get(freed_at=None), holding.unit_reservations.get()
    # An hour before; 15 minutes to leave theatre and 270 of the fast track after 60 of operation.
    assert tray.busy_from == start - timedelta(hours=1)
    assert tray.busy_until == start + timedelta(minutes=60 + 15 + 270)
    assert unit.used_on == start.date()


def test_a_move_may_swap_a_case_with_its_own_old_time(holding, coordinator):
    move_case(case=holding, start=TOMORROW + timedelta(minutes=30), by=coordinator, now=NOW)
    assert held() == (1, 1)


def test_a_move_may_change_length_and_theatre_alone(case, coordinator):
    theatre = Theatre.objects.create(site=case.site, code="T2")
    moved = move_case(case=case, minutes=240, theatre=theatre, by=coordinator, now=NOW)
    moved.refresh_from_db()
    assert (moved.start, moved.minutes, moved.theatre) == (case.start, 240, theatre)


def test_a_move_to_nonsense_is_refused_as_a_whole(case, coordinator):
    with pytest.raises(NotUsable):
        move_case(case=case, minutes=0, start=TOMORROW + timedelta(days=1), by=coordinator, now=NOW)
    case.refresh_from_db()
    assert (case.start, case.minutes) == (TOMORROW, 120)


def test_a_cancellation_frees_what_the_case_held(holding, coordinator):
    cancelled = cancel_case(case=holding, by=coordinator, now=NOW)
    assert cancelled.status == CaseStatus.CANCELLED
    assert held() == (0, 0)
    assert set(UnitReservation.objects.values_list("freed_at", flat=True)) == {NOW}


def test_a_start_keeps_and_an_end_frees(holding, theatre_team):
    start_case(case=holding, by=theatre_team, now=NOW)
    assert held() == (1, 1)
    ended = end_case(case=holding, by=theatre_team, now=NOW)
    ended.refresh_from_db()
    assert ended.status == CaseStatus.ENDED
    assert held() == (0, 0)


def test_another_case_keeps_what_it_holds(holding, site, coordinator):
    other = factories.case(site, "C2")
    cancel_case(case=other, by=coordinator, now=NOW)
    assert held() == (1, 1)


@pytest.mark.parametrize(
    ("status", "action", "said"),
    [
        ("started", move_case, "Case C1 is started; only a booked case can be moved."),
        ("started", cancel_case, "Case C1 is started; only a booked case can be cancelled."),
        ("cancelled", start_case, "Case C1 is cancelled; only a booked case can be started."),
        ("ended", start_case, "Case C1 is ended; only a booked case can be started."),
        ("booked", end_case, "Case C1 is booked; only a started case can be ended."),
        ("ended", end_case, "Case C1 is ended; only a started case can be ended."),
    ],
)
def test_refuses_a_step_that_is_not_next(case, coordinator, status, action, said):
    Case.objects.update(status=status)
    with pytest.raises(Refused) as refused:
        action(case=case, by=coordinator, now=NOW)  # the object still says "booked"
    assert refused.value.say() == said
    case.refresh_from_db()
    assert case.status == status


def test_two_cases_change_places_and_both_keep_the_tray(holding, site, coordinator):
    later = factories.case(site, "C2", start=TOMORROW + timedelta(days=1))
    tray = holding.tray_reservations.get().tray
    reserve_tray(case=later, tray=tray, by=coordinator, now=NOW)
    moves = [Move(holding, start=later.start), Move(later, start=holding.start)]
    freed = move_cases(moves=moves, by=coordinator, now=NOW)
    assert freed.in_words() == ()
    live = TrayReservation.objects.filter(freed_at=None).order_by("busy_from")
    assert [one.case.ref for one in live] == ["C2", "C1"]


def test_of_two_moved_cases_the_earlier_one_keeps_the_tray(holding, site, coordinator):
    later = factories.case(site, "C2", start=TOMORROW + timedelta(days=1))
    tray = holding.tray_reservations.get().tray
    reserve_tray(case=later, tray=tray, by=coordinator, now=NOW)
    soon = TOMORROW + timedelta(minutes=30)
    freed = move_cases(
        moves=[Move(holding, start=soon), Move(later, start=TOMORROW)], by=coordinator, now=NOW
    )
    assert freed.in_words() == ("tray BASE/1, reserved for case C1",)
    assert TrayReservation.objects.get(freed_at=None).case == later


def test_several_moves_are_all_done_or_none(holding, site, coordinator, stranger):
    other = factories.case(site, "C2")
    theirs = Theatre.objects.create(site=stranger.site, code="T9")
    moves = [Move(holding, start=TOMORROW + timedelta(days=1)), Move(other, theatre=theirs)]
    with pytest.raises(NotUsable, match="C2: theatre: of another site"):
        move_cases(moves=moves, by=coordinator, now=NOW)
    holding.refresh_from_db()
    assert holding.start == TOMORROW


def test_a_move_made_for_other_hours_is_refused(case, coordinator):
    move_case(case=case, start=TOMORROW + timedelta(hours=1), was=TOMORROW, by=coordinator, now=NOW)
    with pytest.raises(Refused, match=r"Case C1 was moved meanwhile: it starts Tue 02 Mar 09:30"):
        move_case(case=case, start=TOMORROW, was=TOMORROW, by=coordinator, now=NOW)


def test_what_a_move_would_free_is_said_and_not_done(holding, coordinator):
    far = moved_to(holding, Move(holding, start=TOMORROW + timedelta(days=4)))
    assert what_moves_free([far], NOW).in_words() == ("box U001, reserved for case C1",)
    assert held() == (1, 1)


def test_a_move_frees_a_tray_that_is_on_hold(
    site: Site, coordinator: Person, sterile_services: Person
) -> None:
    """It is promised to nobody anew; a test of the whole found the move refused by the database."""
    case = factories.case(site)
    tray = factories.tray(factories.configuration(site))
    reserve_tray(case=case, tray=tray, by=coordinator, now=NOW)
    hold_for(tray=tray, kind=HoldKind.WET, by=sterile_services, now=NOW)
    move_case(case=case, start=case.start + timedelta(hours=2), by=coordinator, now=NOW)
    assert not TrayReservation.objects.filter(freed_at=None).exists()
