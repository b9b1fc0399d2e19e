"""One element of a GS1 code: an application identifier (AI) and its value, checked alone.

biip knows the identifiers and their forms.  Added here, because biip lets them pass: check
digits, digits that are not ASCII, values that are too long for what follows, and identifiers
that its table does not hold (read by the length that their first two digits fix).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from biip import ParseConfig, ParseError
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from biip.gs1_element_strings import GS1ElementString

from implants.udi.check_digit import check_digit, is_digits
from implants.udi.faults import Fault, ScanError

GTIN, LOT, MADE, USE_BY, SERIAL = "01", "10", "11", "17", "21"
CONTENT, COUNT, VARIANT, QUANTITY = "02", "37", "22", "30"
USE_BY_TIME, GRAI, GIAI = "7003", "8003", "8004"

SET_82 = frozenset(
    "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
)

# Dates are read by `dates`, against the today that the caller gives; biip takes the real clock.
CONFIG = ParseConfig(gs1_element_strings_verify_date=False)

# The first so many digits of the value end in a check digit.
CHECKED_DIGITS: Mapping[str, int] = {
    "00": 18, "01": 14, "02": 14, "03": 14, "253": 13, "255": 13, "402": 17,
    "410": 13, "411": 13, "412": 13, "413": 13, "414": 13, "415": 13, "416": 13, "417": 13,
    "8003": 14, "8006": 14, "8017": 18, "8018": 18, "8026": 14,
}  # fmt: skip

# Identifiers that begin with the same two digits have the same length; where that begins no
# identifier at all, nothing can be read.  (GS1 Syntax Engine, ai.c)
AI_LENGTH: Mapping[str, int] = {
    **dict.fromkeys(("00", "01", "02", "03", "04", "20", "21", "22", "30", "37"), 2),
    **{str(prefix): 2 for prefix in (*range(10, 20), *range(90, 100))},
    **dict.fromkeys(("23", "24", "25", "40", "41", "42", "71"), 3),
    **{str(prefix): 4 for prefix in range(31, 37)},
    **dict.fromkeys(("39", "43", "70", "72", "80", "81", "82"), 4),
}

# Values of a fixed length, which no separator has to end.  (GS1 Syntax Engine, ai.c)
FIXED_LENGTH: Mapping[str, int] = {
    "00": 18, "01": 14, "02": 14, "03": 14, "04": 16, "20": 2, "41": 13,
    **{str(prefix): 6 for prefix in range(11, 20)},
    **{str(prefix): 6 for prefix in range(31, 37)},
}  # fmt: skip

LONGEST_UNKNOWN = 90


@dataclass(frozen=True, slots=True)
class Element:
    """`known` False: the identifier is in no table, its value is taken as it comes."""

    ai: str
    value: str
    known: bool = True


def leading_ai(text: str) -> str:
    """The identifier with which `text` begins.  ScanError UNKNOWN_AI if it can't be one."""
    length = AI_LENGTH.get(text[:2], 0)
    ai = text[:length]
    if len(ai) < 2 or len(ai) < length or not is_digits(ai):
        raise ScanError(Fault.UNKNOWN_AI, text=text)
    return ai


def is_ai(ai: str) -> bool:
    """Two to four digits, and as many as its first two call for."""
    return is_digits(ai) and 2 <= len(ai) <= 4 and AI_LENGTH.get(ai[:2], len(ai)) == len(ai)


def table_entry(ai: str) -> GS1ApplicationIdentifier | None:
    """What biip's table holds of this very identifier."""
    try:
        found = GS1ApplicationIdentifier.extract(ai)
    except ParseError:
        return None
    return found if found.ai == ai else None


def element(ai: str, value: str) -> Element:
    """The element, if its value is one of its kind.  ScanError otherwise, naming both."""
    if not value:
        raise ScanError(Fault.EMPTY, ai=ai)
    entry = table_entry(ai)
    if entry is None:
        _check_unknown(ai, value)
        return Element(ai, value, known=False)
    if not value.isascii() or not _is_of_its_form(ai, value):
        _refuse_bad_character(ai, value)
        form = entry.format.split("+", 1)[1]
        if form == "N6" and len(value) == 6 and is_digits(value):
            raise ScanError(Fault.DATE, ai=ai, value=value)
        raise ScanError(Fault.FORM, ai=ai, value=value, form=form)
    _check_check_digit(ai, value)
    return Element(ai, value)


def _is_of_its_form(ai: str, value: str) -> bool:
    try:
        GS1ElementString.parse(ai + value, config=CONFIG)
    except ParseError:
        return False
    return True


def _check_unknown(ai: str, value: str) -> None:
    _refuse_bad_character(ai, value)
    fixed = FIXED_LENGTH.get(ai[:2])
    if len(value) > LONGEST_UNKNOWN or (fixed is not None and len(value) != fixed):
        form = f"X{fixed}" if fixed is not None else f"X..{LONGEST_UNKNOWN}"
        raise ScanError(Fault.FORM, ai=ai, value=value, form=form)


def _refuse_bad_character(ai: str, value: str) -> None:
    for character in value:
        if character not in SET_82:
            raise ScanError(Fault.BAD_CHARACTER, ai=ai, value=value, character=character)


def _check_check_digit(ai: str, value: str) -> None:
    if count := CHECKED_DIGITS.get(ai):
        number = value[:count]
        expected = check_digit(number[:-1])
        if number[-1] != expected:
            raise ScanError(Fault.CHECK_DIGIT, ai=ai, value=number, expected=expected)
