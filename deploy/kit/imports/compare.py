"""One row against the record: what both say, in the terms of the workbook's columns.

A column that the workbook does not have is left as it is; a cell left empty empties the record.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from deploy.kit.attributes import number_in_words
from deploy.kit.imports.results import Difference, Outcome, RowResult
from deploy.kit.workbooks.values import Row, Value

Said = Mapping[str, Value | None]
"""Column → what a row or a record says; None: nothing."""


def said_in(row: Row) -> dict[str, Value | None]:
    """Every column that the workbook has, None for an empty cell."""
    return {name: row.values.get(name) for name in row.stood}


def compared(
    sheet: str,
    row: Row,
    what: str,
    said: Said,
    there: Said | None,
    *,
    reasons: tuple[str, ...] = (),
    act: Any = None,
) -> RowResult:
    """The row beside the record, which is None where there is none yet."""
    differences = (
        ()
        if there is None
        else tuple(
            Difference(name, in_words(there.get(name)), in_words(value))
            for name, value in said.items()
            if not alike(there.get(name), value)
        )
    )
    if reasons:
        outcome = Outcome.REFUSED
    elif there is None:
        outcome = Outcome.NEW
    else:
        outcome = Outcome.CHANGED if differences else Outcome.SAME
    return RowResult(sheet, row.number, what, outcome, differences, reasons, act)


def alike(one: Value | None, other: Value | None) -> bool:
    """Whether both say the same: nothing is the same as an empty text and as no."""
    return (one or None) == (other or None) if not _is_number(one, other) else one == other


def _is_number(*values: Value | None) -> bool:
    return any(isinstance(v, int | Decimal) and not isinstance(v, bool) for v in values)


def in_words(value: Value | None) -> str:
    """A value as the person reads it beside the other."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | Decimal):
        return number_in_words(value)
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    if isinstance(value, date):
        return value.isoformat()
    return value.strftime("%H:%M") if isinstance(value, time) else value
