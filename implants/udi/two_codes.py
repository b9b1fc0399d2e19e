"""Two codes of one label, scanned one after the other: the item in one, lot and dates in the other.

Either may come first.  HIBC says itself that they belong together (the secondary ends in the
check character of the primary); two GS1 bar codes do not, so that a person must see both.
"""

from __future__ import annotations

from datetime import date

from implants.udi.elements import Element
from implants.udi.faults import Fault, ScanError
from implants.udi.gs1 import bracketed_elements, raw_elements
from implants.udi.hibc import hibc_code, read_joined
from implants.udi.keyboard import Typed, as_typed
from implants.udi.meaning import read_elements
from implants.udi.scan import read_scan
from implants.udi.scan_read import Kind, ScanRead


def read_two(first: str, second: str, *, today: date) -> ScanRead:
    """The label that both codes are of.  ScanError where they do not make one, as OTHER_LABEL
    or as either code alone would."""
    one, two = as_typed(first), as_typed(second)
    if not one.text or not two.text:
        raise ScanError(Fault.NOTHING)
    if _is_hibc(one) != _is_hibc(two):
        raise ScanError(Fault.OTHER_LABEL)
    if _is_hibc(one):
        codes = [hibc_code(typed, today=today) for typed in (one, two)]
        primary, secondary = sorted(codes, key=lambda code: not code.item)
        return read_joined(primary, secondary)
    try:
        item, other = read_scan(first, today=today), two
    except ScanError:
        item, other = read_scan(second, today=today), one
    if not item.names_an_item:
        raise ScanError(Fault.OTHER_LABEL)
    elements = [Element(ai, value) for ai, value in item.ai.items()] + _elements(other)
    caps_lock = one.caps_lock or two.caps_lock
    return read_elements(Kind.ELEMENT_STRING, elements, today=today, caps_lock=caps_lock)


def _is_hibc(typed: Typed) -> bool:
    return typed.text.startswith("+")


def _elements(typed: Typed) -> list[Element]:
    if typed.text.startswith("("):
        return bracketed_elements(typed.text)
    return raw_elements(typed.text)
