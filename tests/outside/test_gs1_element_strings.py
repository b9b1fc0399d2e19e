"""GS1 element strings against published examples; `^` stands for FNC1, sent as GS (0x1D)."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Caution, Fault, ScanError, ScanRead, read_scan
from implants.udi.elements import FIXED_LENGTH, Element, table_entry
from implants.udi.gs1 import bracketed_elements, raw_elements

TODAY = date(2026, 6, 1)
GS = "\x1d"


def fnc1(text: str) -> str:
    return text.replace("^", GS)


def read(text: str) -> ScanRead:
    return read_scan(fnc1(text) if not text.startswith("(") else text, today=TODAY)


def refused(text: str) -> ScanError:
    with pytest.raises(ScanError) as caught:
        read(text)
    return caught.value


# GS1 Syntax Dictionary (text seen): forms, and which values FNC1 ends.
@pytest.mark.parametrize(
    ("ai", "form", "fnc1_ends_it"),
    [
        ("00", "N18", False),
        ("01", "N14", False),
        ("10", "X..20", True),
        ("11", "N6", False),
        ("17", "N6", False),
        ("21", "X..20", True),
        ("240", "X..30", True),
        ("241", "X..30", True),
        ("7003", "N10", True),
        ("8003", "N14[+X..16]", True),
        ("8004", "X..30", True),
    ],
)
def test_identifiers_have_the_published_forms(ai: str, form: str, fnc1_ends_it: bool) -> None:
    entry = table_entry(ai)
    assert entry is not None
    assert entry.format == f"N{len(ai)}+{form}"
    assert entry.separator_required is fnc1_ends_it
    assert (ai[:2] in FIXED_LENGTH) is not fnc1_ends_it


# GS1 Syntax Dictionary (text seen): the longest value passes, one character more does not.
@pytest.mark.parametrize(
    ("ai", "longest"), [("10", 20), ("21", 20), ("240", 30), ("241", 30), ("8004", 30)]
)
def test_lengths_end_where_published(ai: str, longest: int) -> None:
    item = "0112345678901231"
    assert read(f"{item}{ai}{'7' * longest}").ai[ai] == "7" * longest
    assert refused(f"{item}{ai}{'7' * (longest + 1)}").code is Fault.FORM


# GS1 Syntax Engine unit tests (text seen): accepted.
@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("(01)12345678901231(10)12345", {"01": "12345678901231", "10": "12345"}),
        ("^01123456789012311012345", {"01": "12345678901231", "10": "12345"}),
        ("^0112345678901231^991234", {"01": "12345678901231", "99": "1234"}),
        ("^800302112345678900", {"8003": "02112345678900"}),
        ("^800302112345678900ABC", {"8003": "02112345678900ABC"}),
        ("^800302112345678900ABCDEFGHIJKLMNOP", {"8003": "02112345678900ABCDEFGHIJKLMNOP"}),
        ("(21)ABC123(01)12345678901231", {"21": "ABC123", "01": "12345678901231"}),
        ("(400)ABC(400)ABC", {"400": "ABC"}),
    ],
)
def test_published_strings_are_read(text: str, values: dict[str, str]) -> None:
    assert read(text).ai == values


# GS1 Syntax Engine unit tests (text seen): well formed, which is what these tests of its parser
# check.  Without an item number such a code is refused one step later, see below.
@pytest.mark.parametrize("text", ["(10)12345(11)991225", "^1012345^11991225"])
def test_published_strings_without_an_item_are_well_formed(text: str) -> None:
    elements = bracketed_elements(text) if text[0] == "(" else raw_elements(fnc1(text))
    assert elements == [Element("10", "12345"), Element("11", "991225")]
    assert refused(text).code is Fault.NEEDS_ITEM


# GS1 Syntax Engine unit tests (text seen): an escaped bracket is part of the value.
def test_an_escaped_bracket_is_part_of_the_value() -> None:
    assert bracketed_elements(r"(10)12345\(11)991225") == [Element("10", "12345(11)991225")]


ITEM = "(01)12345678901231"


# GS1 Syntax Engine unit tests (text seen): refused.  Where the source's string is cut short by
# an ellipsis, the item number of its other examples stands for it.
@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("^0112345678901234", Fault.CHECK_DIGIT),
        ("^011234567890123", Fault.FORM),
        ("^01123456789012312", Fault.UNKNOWN_AI),
        ("^800302112345678901ABC", Fault.CHECK_DIGIT),
        ("^800302112345678900ABCDEFGHIJKLMNOPQ", Fault.FORM),
        ("(8003)112345678901281234567890123456", Fault.FORM),
        ("(10)(11)98765", Fault.EMPTY),
        ("(10) ", Fault.EMPTY),
        ("(1)12345", Fault.BRACKETS),
        ("(01)95012345678903(11)131313", Fault.DATE),
        ("(21)ABC123", Fault.NEEDS_ITEM),
        (f"{ITEM}(02)12345678901231", Fault.EXCLUDED),
        (f"{ITEM}(37)123", Fault.EXCLUDED),
        ("(400)ABC(400)AB", Fault.STATED_TWICE),
    ],
)
def test_published_faults_are_refused(text: str, code: Fault) -> None:
    assert refused(text).code is code


# GS1 Syntax Dictionary (text seen): 10, 11, 17 and 21 need 01.
@pytest.mark.parametrize("text", ["(10)A", "(11)260101", "(17)260101", "(21)A"])
def test_lot_dates_and_serial_need_an_item(text: str) -> None:
    assert refused(text).code is Fault.NEEDS_ITEM
    assert read(ITEM + text).gtin == "12345678901231"


# GS1 Syntax Engine (text seen): characters outside set 82.  GS ends a value and so is none.
@pytest.mark.parametrize("character", "#$@[\\]^` ")
def test_characters_outside_set_82_are_refused(character: str) -> None:
    refusal = refused(f"{ITEM}(10)A{character}B")
    assert refusal.code is Fault.BAD_CHARACTER
    assert refusal.values["character"] == character


# GS1 Syntax Engine (text seen): characters of set 82 beside digits and letters.  In the bracketed
# notation an opening bracket has to be escaped.
@pytest.mark.parametrize("character", "!\"%&'()*+,-./:;<=>?_")
def test_characters_of_set_82_are_read(character: str) -> None:
    escaped = "\\(" if character == "(" else character
    assert read(f"{ITEM}(10)A{escaped}B").lot == f"A{character}B"
    assert read(f"011234567890123110A{character}B").lot == f"A{character}B"


# Symbology identifiers of GS1-128, GS1 DataMatrix, GS1 QR and DataBar (text seen).
@pytest.mark.parametrize("symbology", ["]C1", "]d2", "]Q3", "]e0"])
def test_element_strings_under_each_symbology(symbology: str) -> None:
    assert read(f"{symbology}01123456789012311012345").lot == "12345"


# Symbology identifier of EAN-13 (text seen); the number: GS1 Syntax Dictionary, linter tests.
def test_an_ean_13_symbol_holds_an_item_number() -> None:
    assert read("]E01234567890128").gtin == "01234567890128"
    assert refused("]E01234567890129").code is Fault.CHECK_DIGIT


# GS1 Syntax Engine unit tests (text seen).
def test_a_published_scan_with_symbology_and_separator() -> None:
    result = read_scan(f"]d2011231231231233310ABC123{GS}99TESTING", today=TODAY)
    assert result.ai == {"01": "12312312312333", "10": "ABC123", "99": "TESTING"}


# Computed with biip 5.2.0: what follows a lost separator is read as part of the lot.
def test_a_lost_separator_swallows_what_follows_and_is_pointed_out() -> None:
    result = read("011234567890123110ABC17260630")
    assert result.lot == "ABC17260630"
    assert result.expiry is None
    assert [warning.code for warning in result.warnings] == [Caution.LOST_SEPARATOR]
    assert result.warnings[0].values["hidden"] == "17260630"
