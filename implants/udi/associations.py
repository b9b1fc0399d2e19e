"""What may stand together in one code: a rule over all its elements.

Source: GS1 Syntax Dictionary (required and excluded identifiers).  A second barcode of a label
that holds lot and date alone is well formed, but names no item: it is refused here, in words
that send the person to the other barcode.
"""

from __future__ import annotations

from collections.abc import Iterable

from implants.udi.elements import CONTENT, COUNT, GTIN, LOT, MADE, SERIAL, USE_BY, Element
from implants.udi.faults import Fault, ScanError

NEED_ITEM = (LOT, MADE, USE_BY, SERIAL)
EXCLUDED_BY_ITEM = (CONTENT, COUNT)


def values_by_ai(elements: Iterable[Element]) -> dict[str, str]:
    """Identifier → value.  The same twice is harmless; ScanError if two differ."""
    values: dict[str, str] = {}
    for each in elements:
        other = values.setdefault(each.ai, each.value)
        if other != each.value:
            raise ScanError(Fault.STATED_TWICE, ai=each.ai, value=other, other=each.value)
    return values


def check_together(values: dict[str, str]) -> None:
    """ScanError where one identifier needs or excludes another."""
    if GTIN not in values:
        for ai in NEED_ITEM:
            if ai in values:
                raise ScanError(Fault.NEEDS_ITEM, ai=ai, value=values[ai])
        return
    for ai in EXCLUDED_BY_ITEM:
        if ai in values:
            raise ScanError(Fault.EXCLUDED, ai=GTIN, other=ai)
