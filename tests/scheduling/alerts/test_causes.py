"""What interrupts: on values, without a database."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.alerts.causes import (
    COORDINATOR,
    STERILE_SERVICES,
    AlertKind,
    Cause,
    HeldItem,
    Standing,
    lost_cover,
    no_good,
)
from scheduling.coverage.report import CaseReport, Verdict
from scheduling.gaps import Gap, Weight

NOW = datetime(2027, 3, 1, 7, tzinfo=UTC)
KEY = f"{AlertKind.LOST_COVER}: C1"
SHORT = Gap(Weight.PLANNED_SHORT, "Planned implant short", items=("stem, size 12",))


def standing(verdict: Verdict, *gaps: Gap, start: datetime = NOW + timedelta(hours=24)) -> Standing:
    return Standing(CaseReport("C1", verdict, start, start), gaps, start)


def lost(one: Standing, before: Verdict | None = None, *open_keys: str) -> list[Cause]:
    return list(lost_cover([one], {} if before is None else {"C1": before}, open_keys, NOW))


@pytest.mark.parametrize("before", [Verdict.COVERED, Verdict.NO_SPARE])
@pytest.mark.parametrize("after", [Verdict.NOT_COVERED, Verdict.AT_RISK, Verdict.NOT_KNOWN])
def test_the_loss_of_cover_interrupts(before: Verdict, after: Verdict) -> None:
    (cause,) = lost(standing(after, SHORT), before)
    assert cause == Cause(
        AlertKind.LOST_COVER,
        KEY,
        f"Case C1 was covered and is {after.value}. Planned implant short: stem, size 12",
        (COORDINATOR,),
        "C1",
    )


@pytest.mark.parametrize("before", [None, Verdict.NOT_COVERED, Verdict.AT_RISK, Verdict.NOT_KNOWN])
def test_a_case_that_was_not_covered_interrupts_nobody(before: Verdict | None) -> None:
    assert lost(standing(Verdict.NOT_COVERED, SHORT), before) == []


@pytest.mark.parametrize("after", [Verdict.COVERED, Verdict.NO_SPARE])
def test_a_covered_case_ends_it(after: Verdict) -> None:
    assert lost(standing(after), Verdict.COVERED, KEY) == []


def test_it_stays_through_other_bad_verdicts() -> None:
    assert [one.key for one in lost(standing(Verdict.AT_RISK), Verdict.NOT_COVERED, KEY)] == [KEY]


@pytest.mark.parametrize(("hours", "interrupts"), [(72, True), (73, False), (-1, True)])
def test_seventy_two_hours(hours: int, interrupts: bool) -> None:
    one = standing(Verdict.NOT_COVERED, SHORT, start=NOW + timedelta(hours=hours))
    assert bool(lost(one, Verdict.COVERED)) is interrupts


@pytest.mark.parametrize(
    ("weights", "to"),
    [
        ((Weight.SET_SHORT,), (STERILE_SERVICES,)),
        ((Weight.SET_CONDITIONAL, Weight.CONTINGENCY_SHORT), (STERILE_SERVICES, COORDINATOR)),
        ((Weight.QUESTION,), ()),
        ((Weight.GAVE_UP,), (COORDINATOR,)),
        ((), (COORDINATOR,)),
    ],
)
def test_who_can_act_is_told(weights: tuple[Weight, ...], to: tuple[str, ...]) -> None:
    gaps = [Gap(weight, "what") for weight in weights]
    (cause,) = lost(standing(Verdict.NOT_COVERED, *gaps), Verdict.COVERED)
    assert cause.to == to


def test_one_cause_however_many_items_it_holds() -> None:
    why = "recall: lot L1"
    (cause,) = no_good(
        [
            HeldItem("tray BASE/1", why, ("C2",), (STERILE_SERVICES,), recall=7),
            HeldItem("box U1", why, ("C1", "C2"), (COORDINATOR,), recall=7),
        ]
    )
    assert cause == Cause(
        AlertKind.NO_GOOD,
        f"{AlertKind.NO_GOOD}: {why}",
        "recall: lot L1: box U1 (case C1, C2); tray BASE/1 (case C2).",
        (STERILE_SERVICES, COORDINATOR),
        recall=7,
    )
