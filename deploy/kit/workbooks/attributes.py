"""The attributes of a catalogue row as columns of a workbook, and back."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from deploy.kit.attributes import ATTRIBUTES, Attribute
from deploy.kit.attributes import Value as Stated
from deploy.kit.workbooks.columns import Column, Kind
from deploy.kit.workbooks.values import Value

NOTES = {"system": "The line's name as said after the role: A for stem A."}


def _column(attribute: Attribute) -> Column:
    header = attribute.label.capitalize() + (f" ({attribute.unit})" if attribute.unit else "")
    kind = Kind.DECIMAL if attribute.number else Kind.TEXT
    return Column(header, kind, most=64, note=NOTES.get(attribute.key, ""))


COLUMN_OF: Mapping[str, Column] = {key: _column(one) for key, one in ATTRIBUTES.items()}
"""Attribute → its column."""
ATTRIBUTE_COLUMNS = tuple(COLUMN_OF.values())


def attributes_said(
    said: Mapping[str, Value | None], before: Mapping[str, Any]
) -> dict[str, str | int | float]:
    """The attributes as they are stored, `before` with what the row says.

    A number without decimals is whole: 12.0 of a spreadsheet is size 12.
    """
    attributes = dict(before)
    for key, column in COLUMN_OF.items():
        if column.name not in said:
            continue
        value = said[column.name]
        attributes.pop(key, None)
        if value is not None:
            attributes[key] = stored(value)
    return attributes


def stored(value: Value) -> str | int | float:
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    return value if isinstance(value, int) else str(value)


def attributes_shown(attributes: Mapping[str, Stated]) -> dict[str, Value]:
    """Column → value, of the attributes (with exact numbers) that the row has."""
    return {COLUMN_OF[key].name: value for key, value in attributes.items() if key in COLUMN_OF}
