from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest

from scheduling.coverage.values import Implant, Need, Unit
from scheduling.web.arrangement import Promise
from scheduling.web.ladder import COLUMN, GUTTER, ROW, TOP, BoxState, ladder, outline, state_of

SOON = datetime(2027, 3, 2, 7, 30, tzinfo=UTC)


def unit(**values: Any) -> Unit:
    return Unit(**{"code": "U1", "implant": "S12", "expiry": date(2031, 12, 31), **values})


def promise(case: str) -> Promise:
    return Promise("U1", case, Need.PLANNED, SOON)


def stem(size: int, offset: str, length: int = 225) -> Implant:
    attributes = {"system": "A", "size": size, "offset": offset, "length": length}
    return Implant(f"S{size}{offset[0]}", "stem", attributes=attributes)


LINE = [stem(size, offset) for size in (11, 12, 13) for offset in ("standard", "high")]


@pytest.mark.parametrize(
    ("box", "promised_to", "state"),
    [
        (unit(), None, BoxState.FREE),
        (unit(), "C1", BoxState.HELD),
        (unit(), "C2", BoxState.PROMISED),
        (unit(arrives=SOON), "C1", BoxState.ON_ORDER),
        (unit(arrives=SOON), "C2", BoxState.PROMISED),
        (unit(hold="quarantined"), None, BoxState.NOT_USABLE),
        (unit(expiry=date(2027, 3, 1)), None, BoxState.NOT_USABLE),
        # Use by is inclusive: on the day on which the case ends it may still be used.
        (unit(expiry=date(2027, 3, 2)), None, BoxState.SHORT_DATED),
        (unit(expiry=date(2027, 5, 31)), None, BoxState.SHORT_DATED),
        (unit(expiry=date(2027, 6, 1)), None, BoxState.FREE),
        (unit(expiry=None), None, BoxState.FREE),
    ],
)
def test_what_may_be_done_with_a_box(box: Unit, promised_to: str | None, state: BoxState) -> None:
    said = state_of(
        box,
        promise(promised_to) if promised_to else None,
        case="C1",
        end=date(2027, 3, 2),
        short_before=date(2027, 6, 1),
    )
    assert said is state


def test_the_largest_size_is_on_top_and_standard_stands_before_high() -> None:
    drawn = ladder(role="stem", implants=LINE, planned="S12s", window=frozenset(), states={})
    assert [size for size, _ in drawn.rows] == ["13", "12", "11"]
    assert drawn.column_words == ("STANDARD offset, 225 mm", "HIGH offset, 225 mm")
    assert (drawn.width, drawn.height) == (GUTTER + 2 * COLUMN + 2, TOP + 3 * ROW + 2)


def test_the_planned_size_is_marked_and_belongs_to_the_window() -> None:
    drawn = ladder(
        role="stem", implants=LINE, planned="S12s", window=frozenset({"S13s"}), states={}
    )
    assert [cell.item for cell in drawn.cells if cell.planned] == ["S12s"]
    assert [cell.item for cell in drawn.cells if cell.in_window] == ["S13s", "S12s"]
    x, y = GUTTER, TOP
    assert drawn.outline == (
        f"M{x} {y}h104M{x} {y}v34M{x + 104} {y}v34"
        f"M{x} {y + 68}h104M{x} {y + 34}v34M{x + 104} {y + 34}v34"
    )


def test_a_window_in_two_parts_has_two_outlines() -> None:
    drawn = ladder(
        role="stem", implants=LINE, planned="S11s", window=frozenset({"S13h"}), states={}
    )
    assert drawn.outline.count("h104") == 4
    assert outline([]) == ""


def test_few_boxes_are_drawn_singly_and_many_with_their_number() -> None:
    states = {
        "S12s": [BoxState.PROMISED, BoxState.HELD],
        "S11s": [BoxState.FREE] * 7 + [BoxState.ON_ORDER],
    }
    drawn = ladder(role="stem", implants=LINE, planned="S12s", window=frozenset(), states=states)
    cells = {cell.item: cell for cell in drawn.cells}
    assert [g.state for g in cells["S12s"].glyphs] == [BoxState.HELD, BoxState.PROMISED]
    assert not cells["S12s"].says_numbers
    assert [(g.state, g.number) for g in cells["S11s"].glyphs] == [
        (BoxState.FREE, 7),
        (BoxState.ON_ORDER, 1),
    ]
    assert cells["S11s"].says_numbers
    assert cells["S13s"].glyphs == ()


@pytest.mark.parametrize("number", range(1, 12))
def test_no_glyph_leaves_its_cell(number: int) -> None:
    states = {"S12s": [list(BoxState)[place % 6] for place in range(number)]}
    drawn = ladder(role="stem", implants=LINE, planned="S12s", window=frozenset(), states=states)
    (cell,) = (cell for cell in drawn.cells if cell.item == "S12s")
    assert sum(glyph.number for glyph in cell.glyphs) == number
    for glyph in cell.glyphs:
        assert cell.x < glyph.x <= cell.x + COLUMN - 14
        assert cell.y < glyph.y <= cell.y + ROW - 18


def test_a_size_that_is_not_made_has_an_empty_place() -> None:
    drawn = ladder(
        role="stem",
        implants=[item for item in LINE if item.ref != "S13h"],
        planned="S12s",
        window=frozenset(),
        states={},
    )
    assert [cell.words for cell in drawn.cells if not cell.item] == ["size 13, HIGH offset, 225 mm"]
