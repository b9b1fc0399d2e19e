"""A part of a technique as the cells of one row, and back, in the words of `techniques.words`.

A cell is one line: what stands on lines of their own in a form is parted by semicolons here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from deploy.kit.workbooks.columns import Column, Kind
from deploy.kit.workbooks.values import Value
from scheduling.coverage.values import Check, Confirmation, Need, Rule, SetAsked
from scheduling.techniques.words import (
    QUOTED,
    WordsNotUnderstood,
    read_condition,
    read_options,
    read_selection,
    read_terms,
    say_condition,
    say_options,
    say_selection,
    say_terms,
)

Part = TypeVar("Part")
Cells = Mapping[str, Value]
LONG = 2000

SELECT = Column(
    "Select",
    most=LONG,
    note="Attribute: what it must be; parted by semicolons, all must hold. 10, 12 or a text in "
    "quotes; stem.size or fact NAME as planned; from 8 to stem.size, 1 below, 2 above; "
    "at stem.size, 1 above; every rung.",
    example="size: at stem.size, 1 below, 1 above; offset: stem.offset",
)
WHEN = Column(
    "When",
    most=LONG,
    note="A fact, or component.attribute, then is, then one or more values with or between; "
    "parted by semicolons, all must hold. Empty: always.",
    example="approach is posterior or lateral",
)
SET_COLUMNS = (
    Column("Purpose", required=True, most=120),
    Column(
        "Options",
        required=True,
        most=LONG,
        note="Codes of configurations. A semicolon parts the options, the best one first; + joins "
        "the trays that are opened together.",
        example="STAND; BASE + ADD",
    ),
    WHEN,
)
RULE_COLUMNS = (
    Column("Role", required=True, most=64, note="As in the catalogue or among the instruments."),
    Column("Need", Kind.CHOICE, required=True, choices=tuple(need.value for need in Need)),
    SELECT,
    Column("Quantity", Kind.WHOLE, note="Empty is 1."),
    WHEN,
)
SUM = (
    "A fact or component.attribute; for at least, a sum of them: osteotomy_mm + 2 × "
    "bone_diameter_mm. The left is to be equal to the right, or at least that."
)
CHECK_COLUMNS = (
    Column("Check", required=True, most=200, note="What is said where it fails."),
    Column("Kind", Kind.CHOICE, required=True, choices=("equal", "at least")),
    Column("Left", required=True, most=LONG, note=SUM, example="shell.group"),
    Column("Right", required=True, most=LONG, note=SUM, example="liner.group"),
    WHEN,
)
CONFIRMATION_COLUMNS = (
    Column("Confirmation", required=True, most=200, note="The question to a person."),
    WHEN,
)


class CellFaults(ValueError):
    """`faults`: every cell that cannot be read, with its column."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


class _Row:
    """Reads the cells of one row and gathers what is wrong with them."""

    def __init__(self, cells: Cells) -> None:
        self.cells = cells
        self.faults: list[str] = []

    def text(self, column: str) -> str:
        return str(self.cells.get(column, ""))

    def read(self, column: str, reader: Callable[[str], Any], empty: Any) -> Any:
        try:
            return reader(_lines(self.text(column)))
        except WordsNotUnderstood as fault:
            self.faults += [f"{column}: {one}" for one in fault.faults]
            return empty

    def done(self, part: Part) -> Part:
        if self.faults:
            raise CellFaults(self.faults)
        return part


def read_set_row(cells: Cells) -> SetAsked:
    """CellFaults with all faults; so do the others."""
    row = _Row(cells)
    options = row.read("Options", read_options, ())
    return row.done(SetAsked(row.text("Purpose"), options, row.read("When", read_condition, {})))


def read_rule_row(cells: Cells) -> Rule:
    row = _Row(cells)
    quantity = cells.get("Quantity", 1)
    if not isinstance(quantity, int) or quantity < 1:
        row.faults.append("Quantity: 1 or more.")
    return row.done(
        Rule(
            role=row.text("Role"),
            need=Need(row.text("Need")),
            select=row.read("Select", read_selection, {}),
            quantity=int(quantity) if isinstance(quantity, int) else 1,
            when=row.read("When", read_condition, {}),
        )
    )


def read_check_row(cells: Cells) -> Check:
    row = _Row(cells)
    left, right = (row.read(side, read_terms, ()) for side in ("Left", "Right"))
    kind: Any = row.text("Kind")
    return row.done(
        Check(row.text("Check"), kind, left, right, row.read("When", read_condition, {}))
    )


def read_confirmation_row(cells: Cells) -> Confirmation:
    row = _Row(cells)
    return row.done(Confirmation(row.text("Confirmation"), row.read("When", read_condition, {})))


def say_set_row(part: SetAsked) -> dict[str, Value]:
    return {
        "Purpose": part.purpose,
        "Options": _cell(say_options(part.options)),
        "When": _cell(say_condition(part.when)),
    }


def say_rule_row(part: Rule) -> dict[str, Value]:
    return {
        "Role": part.role,
        "Need": part.need.value,
        "Select": _cell(say_selection(part.select)),
        "Quantity": part.quantity,
        "When": _cell(say_condition(part.when)),
    }


def say_check_row(part: Check) -> dict[str, Value]:
    return {
        "Check": part.code,
        "Kind": part.kind,
        "Left": say_terms(part.left),
        "Right": say_terms(part.right),
        "When": _cell(say_condition(part.when)),
    }


def say_confirmation_row(part: Confirmation) -> dict[str, Value]:
    return {"Confirmation": part.code, "When": _cell(say_condition(part.when))}


def _lines(cell: str) -> str:
    """Semicolons outside quotes part lines."""
    return re.sub(rf"({QUOTED})|;", lambda found: found[1] or "\n", cell)


def _cell(lines: str) -> str:
    return "; ".join(lines.splitlines())
