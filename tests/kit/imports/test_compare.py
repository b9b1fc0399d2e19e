"""One row against the record: on values, without a database."""

from __future__ import annotations

from datetime import date, datetime, time
from decimal import Decimal

import pytest

from deploy.kit.imports.compare import Said, alike, compared, in_words, said_in
from deploy.kit.imports.results import Comparison, Difference, Outcome, RowResult
from deploy.kit.workbooks.values import Row, Value

ROW = Row(7, {"REF": "A-1", "Lead days": 2}, {"REF": "A-1", "Lead days": 2, "Name": None})
SAID: Said = {"REF": "A-1", "Lead days": 2, "Name": None}


def test_a_column_that_the_workbook_has_not_says_nothing() -> None:
    assert said_in(ROW) == SAID
    assert "Maker" not in said_in(ROW)


def test_a_row_without_a_record_is_new() -> None:
    assert compared("S", ROW, "A-1", SAID, None).outcome is Outcome.NEW


def test_a_row_that_says_what_stands_is_the_same() -> None:
    there = {"REF": "A-1", "Lead days": 2, "Name": "", "Maker": "Maker North"}
    assert compared("S", ROW, "A-1", SAID, there).outcome is Outcome.SAME


def test_a_changed_row_says_before_and_after_and_an_empty_cell_empties() -> None:
    there = {"REF": "A-1", "Lead days": 5, "Name": "Stem"}
    assert compared("S", ROW, "A-1", SAID, there) == RowResult(
        "S",
        7,
        "A-1",
        Outcome.CHANGED,
        (Difference("Lead days", "5", "2"), Difference("Name", "Stem", "")),
    )


def test_a_reason_refuses_whatever_the_row_says() -> None:
    assert compared("S", ROW, "A-1", SAID, None, reasons=("no",)).outcome is Outcome.REFUSED


@pytest.mark.parametrize(
    ("one", "other", "are"),
    [
        (None, "", True),
        (None, False, True),
        (0, None, False),
        (0, "", False),
        (12, Decimal("12.0"), True),
        (True, None, False),
        ("a", "A", False),
        (date(2027, 3, 1), date(2027, 3, 1), True),
    ],
)
def test_what_is_alike(one: Value | None, other: Value | None, are: bool) -> None:
    assert alike(one, other) is are
    assert alike(other, one) is are


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (None, ""),
        (True, "yes"),
        (Decimal("3.50"), "3.5"),
        (-3, "−3"),
        (datetime(2027, 3, 1, 8, 30), "2027-03-01 08:30"),  # noqa: DTZ001  local, as typed
        (date(2027, 3, 1), "2027-03-01"),
        (time(8, 30), "08:30"),
        ("text", "text"),
    ],
)
def test_values_in_words(value: Value | None, words: str) -> None:
    assert in_words(value) == words


def test_a_comparison_counts_and_is_refused_by_one_row() -> None:
    rows = tuple(
        RowResult("S", n, "", outcome, reasons=("why",) if outcome is Outcome.REFUSED else ())
        for n, outcome in enumerate(Outcome)
    )
    whole = Comparison(rows)
    assert (whole.ok, whole.writes) == (False, 2)
    assert whole.reasons() == {("S", 0): ["why"]}
    assert Comparison(rows[1:]).ok
