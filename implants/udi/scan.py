"""The one door for whatever a scanner types: decide which reader, read, refuse.

The first character tells the standard (HL7 v2.9, PRT-10): a digit or `(` GS1, `+` HIBC, `=` or
`&` ISBT 128.  The last is told apart from nonsense and refused as not read yet.
"""

from __future__ import annotations

from datetime import date

from implants.udi.associations import NEED_ITEM
from implants.udi.check_digit import GTIN_DIGITS, has_right_check_digit, is_digits
from implants.udi.digital_link import QUALIFIERS, SCHEMES, link_elements
from implants.udi.elements import GTIN, Element, element
from implants.udi.faults import Fault, ScanError
from implants.udi.gs1 import bracketed_elements, raw_elements
from implants.udi.hibc import read_hibc
from implants.udi.keyboard import (
    EAN_8,
    EAN_13,
    ELEMENT_STRINGS,
    GS,
    Typed,
    as_typed,
    separators_restored,
)
from implants.udi.meaning import read_elements
from implants.udi.scan_read import Kind, ScanRead

LONGEST = 4000
"""Characters; the fullest QR code holds 4,296 capitals, no label comes near it."""

HIBC_BEGINS = "+"
OTHER_STANDARDS = {"=": "ISBT 128", "&": "ISBT 128"}
PLAIN_GTIN_LENGTHS = (12, 13, 14)


def read_scan(text: str, *, today: date) -> ScanRead:
    """Read a scan as it was typed; `today` decides the century of its dates.

    ScanError for everything that can't be read without doubt.  With code NOT_A_CODE it is no
    identity of a standard at all: the caller tries its own codes (better still, before: a code
    of the house that begins with a digit looks like a broken GS1 code).
    """
    typed = as_typed(text)
    if not typed.text:
        raise ScanError(Fault.NOTHING)
    if len(typed.text) > LONGEST:
        raise ScanError(Fault.NOT_A_CODE, text=typed.text[:40])
    if typed.symbology in (EAN_13, EAN_8):
        return _read_gtin(typed.text, today)
    if typed.symbology in ELEMENT_STRINGS:
        return _read_raw(raw_elements(typed.text), typed, today)
    first = separators_restored(typed.text)[0]
    if first == HIBC_BEGINS:
        return read_hibc(typed, today=today)
    if first in OTHER_STANDARDS:
        raise ScanError(Fault.NOT_READ_YET, standard=OTHER_STANDARDS[first])
    if first == "(":
        elements = bracketed_elements(typed.text)
        return read_elements(Kind.ELEMENT_STRING, elements, today=today, caps_lock=typed.caps_lock)
    if first == GS:
        return _read_raw(raw_elements(typed.text), typed, today)
    if is_digits(first):
        return _read_unmarked(typed, today)
    if typed.text.lower().startswith(SCHEMES):
        return read_elements(
            Kind.DIGITAL_LINK,
            link_elements(typed.text),
            today=today,
            caps_lock=typed.caps_lock,
        )
    raise ScanError(Fault.NOT_A_CODE, text=typed.text)


def _read_raw(elements: list[Element], typed: Typed, today: date) -> ScanRead:
    return read_elements(Kind.ELEMENT_STRING, elements, today=today, caps_lock=typed.caps_lock)


def _read_unmarked(typed: Typed, today: date) -> ScanRead:
    """Text that begins with a digit: an element string, or an item number from an EAN bar code.

    Scanners often send no symbology identifier.  Where both readings hold and differ in what
    they name, the code is refused rather than guessed.
    """
    text = typed.text
    is_gtin = len(text) in PLAIN_GTIN_LENGTHS and is_digits(text) and has_right_check_digit(text)
    try:
        elements = raw_elements(text)
    except ScanError as refusal:
        if is_gtin:
            return _read_gtin(text, today)
        if refusal.code is Fault.UNKNOWN_AI and refusal.values["text"] == text:
            raise ScanError(Fault.NOT_A_CODE, text=text) from refusal
        raise
    if is_gtin:
        if any(each.ai in QUALIFIERS or each.ai in NEED_ITEM for each in elements):
            raise ScanError(Fault.TWO_READINGS, text=text)
        return _read_gtin(text, today)
    return _read_raw(elements, typed, today)


def _read_gtin(text: str, today: date) -> ScanRead:
    return read_elements(Kind.GTIN, [element(GTIN, text.zfill(GTIN_DIGITS))], today=today)
