"""When a tray is ready for a case: turnaround, fast track, sterile date, arrival."""

from __future__ import annotations

import pytest

from scheduling.coverage.report import Status
from tests.coverage_engine.build import hours, tray, wants
from tests.coverage_engine.tray_store import (
    BASE,
    CONDITIONAL,
    FAST,
    HELD,
    SHORT,
    decided,
    femur,
    notes,
)

# -- ready in time ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ready", "status"), [("Tue 07:00", HELD), ("Tue 07:01", SHORT), ("Mon 01:00", HELD)]
)
def test_a_tray_on_site_serves_what_needs_it_when_it_is_ready_or_later(
    ready: str, status: Status
) -> None:
    report = decided(BASE, tray("BASE/1", ready=ready), wants("C1", "Tue 08:00", sets="BASE"))
    assert femur(report, "C1") == (status, ("BASE/1",) if status is HELD else ())


@pytest.mark.parametrize(
    ("start", "status"), [("Tue 17:15", HELD), ("Tue 17:14", SHORT)], ids=["in time", "a minute"]
)
def test_a_tray_serves_again_after_the_turnaround(start: str, status: Status) -> None:
    report = decided(
        BASE,
        tray("BASE/1"),
        wants("C1", "Tue 08:00", sets="BASE"),
        wants("C2", start, sets="BASE"),
    )
    assert femur(report, "C1")[0] is HELD
    assert femur(report, "C2")[0] is status


@pytest.mark.parametrize(("start", "status"), [("Wed 10:15", HELD), ("Wed 10:14", SHORT)])
def test_the_turnaround_is_counted_in_opening_time(start: str, status: Status) -> None:
    """Open from 06:00 to 13:00: 165 minutes on Tuesday and 195 on Wednesday, until 09:15."""
    report = decided(
        BASE,
        tray("BASE/1"),
        wants("C1", "Tue 08:00", sets="BASE"),
        wants("C2", start, sets="BASE"),
        opening=hours(6, 13),
    )
    assert femur(report, "C2")[0] is status


def test_a_withdrawn_tray_serves_nobody() -> None:
    report = decided(BASE, tray("BASE/1", withdrawn=True), wants("C1", "Tue 08:00", sets="BASE"))
    assert femur(report, "C1") == (SHORT, ())


# -- fast track ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "status"), [("Tue 17:15", HELD), ("Tue 13:15", CONDITIONAL), ("Tue 13:14", SHORT)]
)
def test_fast_track_is_conditional(start: str, status: Status) -> None:
    report = decided(
        FAST,
        tray("BASE/1"),
        wants("C1", "Tue 08:00", sets="BASE"),
        wants("C2", start, sets="BASE"),
    )
    assert femur(report, "C2")[0] is status


def test_a_tray_without_fast_track_has_none() -> None:
    report = decided(
        BASE,
        tray("BASE/1"),
        wants("C1", "Tue 08:00", sets="BASE"),
        wants("C2", "Tue 13:15", sets="BASE"),
    )
    assert femur(report, "C2")[0] is SHORT


def test_a_held_tray_is_asked_for_before_a_fast_tracked_one() -> None:
    report = decided(
        FAST,
        tray("BASE/1"),
        tray("BASE/2", ready="Tue 12:15"),
        wants("C1", "Tue 08:00", sets="BASE"),
        wants("C2", "Tue 13:15", sets="BASE"),
    )
    assert femur(report, "C2") == (HELD, ("BASE/2",))


# -- sterile until ---------------------------------------------------------------------------------

# C1 ends on Tuesday at 10:00.


@pytest.mark.parametrize(
    ("sterile_until", "note"),
    [
        ("Tue 10:00", []),
        (
            "Tue 09:59",
            ["BASE/1 is sterile until Tue 2 Mar 09:59: to be reprocessed by Tue 2 Mar 07:00"],
        ),
    ],
)
def test_a_tray_past_its_sterile_date_at_the_end_is_reprocessed_first(
    sterile_until: str, note: list[str]
) -> None:
    report = decided(
        BASE,
        tray("BASE/1", sterile_until=sterile_until),
        wants("C1", "Tue 08:00", sets="BASE"),
    )
    assert femur(report, "C1") == (HELD, ("BASE/1",))
    assert notes(report, "C1") == note


@pytest.mark.parametrize(
    ("start", "status"), [("Mon 13:00", HELD), ("Mon 09:00", CONDITIONAL), ("Mon 08:59", SHORT)]
)
def test_reprocessing_begins_now_and_takes_the_turnaround(start: str, status: Status) -> None:
    """It is 06:00: ready at 12:00, or at 08:00 by fast track."""
    report = decided(
        FAST,
        tray("BASE/1", sterile_until="Mon 07:00"),
        wants("C1", start, sets="BASE"),
    )
    assert femur(report, "C1")[0] is status


def test_reprocessing_begins_when_the_tray_is_ready_if_that_is_later() -> None:
    late = tray("BASE/1", ready="Mon 18:00", sterile_until="Mon 20:00")
    assert femur(decided(BASE, late, wants("C1", "Tue 01:00", sets="BASE")), "C1")[0] is HELD
    assert femur(decided(BASE, late, wants("C1", "Tue 00:59", sets="BASE")), "C1")[0] is SHORT


def test_an_earlier_use_removes_the_sterile_date() -> None:
    """After C1 the tray is processed anyway, be it in a hurry for C2."""
    report = decided(
        FAST,
        tray("BASE/1", sterile_until="Tue 12:00"),
        wants("C1", "Tue 08:00", sets="BASE"),
        wants("C2", "Tue 13:15", sets="BASE"),
    )
    assert femur(report, "C2") == (CONDITIONAL, ("BASE/1",))
    assert notes(report, "C2") == []


def test_so_does_a_use_long_before() -> None:
    """C1 and C2 do not compete for the tray, yet C1 has it processed."""
    report = decided(
        BASE,
        tray("BASE/1", sterile_until="Tue 12:00"),
        wants("C1", "Tue 08:00", sets="BASE"),
        wants("C2", "Fri 08:00", sets="BASE"),
        wants("C3", "Fri 08:00", sets="BASE"),
        tray("BASE/2", sterile_until="Tue 12:00"),
    )
    assert femur(report, "C2") == (HELD, ("BASE/1",))
    assert notes(report, "C2") == []
    assert femur(report, "C3") == (HELD, ("BASE/2",))
    assert notes(report, "C3") == [
        "BASE/2 is sterile until Tue 2 Mar 12:00: to be reprocessed by Fri 5 Mar 07:00"
    ]


# -- awaited and overdue ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "status"),
    [
        ("Tue 17:00", CONDITIONAL),  # arrives 08:00, checked in 10:00, ready 16:00
        ("Tue 16:59", SHORT),
        ("Fri 08:00", CONDITIONAL),  # held only once its receipt is recorded
    ],
)
def test_an_awaited_tray_is_conditional_after_check_in_and_turnaround(
    start: str, status: Status
) -> None:
    report = decided(BASE, tray("BASE/1", arrives="Tue 08:00"), wants("C1", start, sets="BASE"))
    assert femur(report, "C1")[0] is status


def test_an_awaited_tray_may_be_fast_tracked_too() -> None:
    awaited = tray("BASE/1", arrives="Tue 08:00")
    in_time, late = wants("C1", "Tue 13:00", sets="BASE"), wants("C1", "Tue 12:59", sets="BASE")
    assert femur(decided(FAST, awaited, in_time), "C1")[0] is CONDITIONAL
    assert femur(decided(FAST, awaited, late), "C1")[0] is SHORT


def test_check_in_is_counted_in_opening_time() -> None:
    """Arrives at 13:00 as services close: eight hours from 06:00 to 14:00 on the next day."""
    night = hours(6, 22)
    awaited = tray("BASE/1", arrives="Mon 22:00")
    served = decided(BASE, awaited, wants("C1", "Tue 15:00", sets="BASE"), opening=night)
    missed = decided(BASE, awaited, wants("C1", "Tue 14:59", sets="BASE"), opening=night)
    assert femur(served, "C1")[0] is CONDITIONAL
    assert femur(missed, "C1")[0] is SHORT


def test_a_tray_stays_awaited_for_every_case_that_it_serves() -> None:
    report = decided(
        BASE,
        tray("BASE/1", arrives="Tue 08:00"),
        wants("C1", "Wed 08:00", sets="BASE"),
        wants("C2", "Thu 08:00", sets="BASE"),
    )
    assert [femur(report, case)[0] for case in ("C1", "C2")] == [CONDITIONAL, CONDITIONAL]


@pytest.mark.parametrize(("arrives", "status"), [("Mon 06:00", CONDITIONAL), ("Mon 05:59", SHORT)])
def test_an_overdue_tray_serves_nothing_until_it_is_received(arrives: str, status: Status) -> None:
    report = decided(BASE, tray("BASE/1", arrives=arrives), wants("C1", "Fri 08:00", sets="BASE"))
    assert femur(report, "C1")[0] is status


def test_an_awaited_tray_is_checked_in_whatever_its_sterile_date() -> None:
    for sterile_until in ("", "Mon 07:00", "Tue 9 Mar 08:00"):
        awaited = tray("BASE/1", arrives="Tue 08:00", sterile_until=sterile_until)
        report = decided(BASE, awaited, wants("C1", "Tue 16:59", sets="BASE"))
        assert femur(report, "C1")[0] is SHORT
        assert notes(report, "C1") == []
