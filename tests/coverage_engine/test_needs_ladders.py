"""Ladders: which rungs a rule takes, and what is told where the catalogue cuts one short."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from scheduling.coverage.reasons import sentence
from scheduling.coverage.values import FromPlan, Ladder, Need
from tests.coverage_engine.build import (
    implant,
    instrument,
    ladder,
    rule,
    technique,
)
from tests.coverage_engine.small_catalogue import needs


def reamers(selection: Any, **facts: Any) -> list[str]:
    """The reamers that one planned rule takes, by its selection on the diameter."""
    found = needs(technique(rule("ream", Need.PLANNED, diameter=selection)), **facts)
    return [ref.removeprefix("REAM-") for ref in found.instruments[Need.PLANNED]]


# -- ladders --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "taken"),
    [
        (ladder(10, 12), "10 11 12"),
        (ladder(), "9 10 11 12 14 16 18"),
        (ladder(None, 11), "9 10 11"),
        (ladder(14, None), "14 16 18"),
        (ladder(on=12), "12"),
        (ladder(on=12, below=1), "11 12"),
        (ladder(on=12, above=2), "12 14 16"),  # two rungs that exist, not two millimetres
        (ladder(on=12, below=1, above=1), "11 12 14"),
        (ladder(10, 12, below=1, above=1), "9 10 11 12 14"),
        (ladder(on=13), ""),  # no such rung
        (ladder(on=13, below=1, above=1), "12 14"),
        (ladder(13, 17), "14 16"),
        (ladder(13, 17, below=1, above=1), "12 14 16 18"),
        (ladder(14, 10), ""),  # from > to has no middle
        (ladder(14, 10, below=1, above=1), "11 12"),
        (ladder(None, 10, below=3), "9 10"),  # below without from adds nothing
        (ladder(16, None, above=3), "16 18"),  # above without to adds nothing
        (ladder(None, 10, above=1), "9 10 11"),
        (ladder(16, None, below=1), "14 16 18"),
        (ladder(on=18, above=2), "18"),
        (ladder(20, 30, below=1), "18"),
        (ladder(1, 2, above=1), "9"),
    ],
    ids=str,
)
def test_a_ladder_takes_rungs(asked: Ladder, taken: str) -> None:
    assert reamers(asked) == taken.split()


def test_a_ladder_follows_the_plan() -> None:
    assert reamers(ladder(None, FromPlan("stem.size"))) == ["9", "10", "11", "12"]
    assert reamers(ladder(on=FromPlan("first_reamer"), above=1), first_reamer=14) == ["14", "16"]


def test_the_rungs_are_those_of_the_other_selections() -> None:
    """One under 12 among the items of maker B is 9: its 10 and 11 do not exist."""
    of_b = [instrument(f"REAM-{d}B", diameter=d, system="B") for d in (9, 12)]
    found = needs(
        technique(rule("ream", Need.PLANNED, system="B", diameter=ladder(on=12, below=1))), *of_b
    )
    assert set(found.instruments[Need.PLANNED]) == {"REAM-9B", "REAM-12B"}


def test_two_ladders_in_one_rule_multiply() -> None:
    """And neither narrows the other: rungs are counted without the other ladder."""
    nails = [
        implant(f"NAIL-{size}-{length}", size=size, length=length)
        for size, length in [(10, 200), (10, 240), (11, 200), (11, 220), (12, 240), (12, 260)]
    ]
    found = needs(
        technique(
            rule("nail", Need.PLANNED, size=ladder(10, 11), length=ladder(on=220, below=1, above=1))
        ),
        *nails,
        plan={},
    )
    assert set(found.implants[Need.PLANNED]) == {
        "NAIL-10-200",
        "NAIL-10-240",
        "NAIL-11-200",
        "NAIL-11-220",
    }


def test_rungs_are_ordered_as_numbers() -> None:
    halves = [instrument(f"TAP-{d}", diameter=Decimal(d)) for d in ("9.5", "10", "10.5")]
    found = needs(technique(rule("tap", Need.PLANNED, diameter=ladder(on=10, below=1))), *halves)
    assert set(found.instruments[Need.PLANNED]) == {"TAP-9.5", "TAP-10"}


def test_a_ladder_from_a_text_takes_nothing_and_asks() -> None:
    asks = technique(rule("ream", Need.CONTINGENCY, diameter=ladder(on=FromPlan("name"))))
    found = needs(asks, name="twelve")
    assert found.instruments[Need.CONTINGENCY] == {}
    assert found.questions == ("text on a ladder: ream.diameter",)


def test_a_text_among_the_rungs_asks_for_it_cannot_be_counted() -> None:
    """Left out in silence it would be missing from what must be there."""
    taps = [instrument("TAP-9", diameter=9), instrument("TAP-10", diameter="10")]
    asks = technique(rule("tap", Need.CONTINGENCY, diameter=ladder(on=9, above=1)))
    found = needs(asks, *taps)
    assert set(found.instruments[Need.CONTINGENCY]) == {"TAP-9"}
    assert found.questions == ("text on a ladder: tap.diameter",)


def test_a_text_that_the_rule_does_not_reach_is_no_matter() -> None:
    taps = [instrument("TAP-9", diameter=9, system="A"), instrument("TAP-S", diameter="S")]
    asks = technique(rule("tap", Need.PLANNED, system="A", diameter=ladder(on=9)))
    assert needs(asks, *taps).questions == ()


# -- ladders that the catalogue cuts short --------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "notes"),
    [
        (ladder(on=16, above=1), []),
        (
            ladder(on=16, above=2),
            ["ream: 2 above by diameter asked for, the catalogue holds 1"],
        ),
        (
            ladder(on=18, above=2),
            ["ream: 2 above by diameter asked for, the catalogue holds none"],
        ),
        (
            ladder(on=10, below=3),
            ["ream: 3 below by diameter asked for, the catalogue holds 1"],
        ),
        (
            ladder(9, 18, below=1, above=1),
            [
                "ream: 1 above by diameter asked for, the catalogue holds none",
                "ream: 1 below by diameter asked for, the catalogue holds none",
            ],
        ),
        (ladder(None, 9, below=3), []),  # adds nothing, so nothing is cut
        (ladder(99, 99, above=1), []),  # nothing is selected: a fault, not a cut
    ],
    ids=str,
)
def test_a_cut_ladder_is_told(asked: Ladder, notes: list[str]) -> None:
    found = needs(technique(rule("ream", Need.PLANNED, diameter=asked)))
    assert [sentence(note) for note in found.notes] == notes


def test_a_cut_is_told_once() -> None:
    cut = rule("ream", Need.PLANNED, diameter=ladder(on=18, above=1))
    assert len(needs(technique(cut, cut)).notes) == 1
