"""What the template of techniques says can be read, and fits into a spreadsheet's note."""

from __future__ import annotations

import pytest

from deploy.kit.workbooks.columns import Column
from deploy.kit.workbooks.template import PROMPT_MOST, how
from scheduling.techniques.words import (
    read_condition,
    read_options,
    read_selection,
    read_terms,
)
from scheduling.workbooks.registry import KINDS
from scheduling.workbooks.technique_cells import CHECK_COLUMNS, SELECT, SET_COLUMNS, WHEN

COLUMNS = [
    column
    for kind in KINDS
    for sheet in kind.spec.sheets
    for column in sheet.columns
    if column.note
]


@pytest.mark.parametrize("column", COLUMNS, ids=lambda column: str(column.name))
def test_no_note_is_cut_short(column: Column) -> None:
    assert len(how(column)) <= PROMPT_MOST


def test_the_examples_are_understood() -> None:
    assert read_selection(SELECT.example.replace("; ", "\n"))
    assert read_condition(WHEN.example)
    assert read_options(SET_COLUMNS[1].example.replace("; ", "\n")) == (
        ("STAND",),
        ("BASE", "ADD"),
    )
    assert read_terms("osteotomy_mm + 2 × bone_diameter_mm")
    assert all(read_terms(column.example) for column in CHECK_COLUMNS if "." in column.example)


@pytest.mark.parametrize(
    "said", ["10, 12", '"ceramic"', "stem.size", "fact inner_diameter", "every rung"]
)
def test_what_the_note_on_selections_offers_is_understood(said: str) -> None:
    assert read_selection(f"size: {said}")
