"""Damage by scanners that type: separators, Caps Lock, keyboard languages."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Caution, Fault, ScanError, ScanRead, read_scan

TODAY = date(2026, 6, 1)
ITEM = "0102345678901234"
CAPS_LOCK = [Caution.CAPS_LOCK]


def read(text: str) -> ScanRead:
    return read_scan(text, today=TODAY)


def cautions(text: str) -> list[Caution]:
    return [warning.code for warning in read(text).warnings]


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n", "\t", " ", ""])
def test_blanks_at_the_ends_are_the_scanners(end: str) -> None:
    assert read(f" {ITEM}10AB1{end}").lot == "AB1"


@pytest.mark.parametrize("mark", ["\x1d", "^", "|", "~", "]", "{GS}", "[GS]", "\u241d"])
def test_what_can_stand_in_no_value_is_the_separator(mark: str) -> None:
    result = read(f"]C1{ITEM}10AB1{mark}17270630{mark}21S7")
    assert (result.lot, result.expiry, result.serial) == ("AB1", date(2027, 6, 30), "S7")
    assert result.warnings == ()
    assert read(f"{mark}{ITEM}10AB1{mark}21S7{mark}").ai == {
        "01": "02345678901234",
        "10": "AB1",
        "21": "S7",
    }


def test_a_written_separator_could_be_part_of_a_lot_and_is_pointed_out() -> None:
    result = read(f"{ITEM}10AB1<GS>21S7")
    assert result.lot == "AB1<GS>21S7"
    assert [warning.code for warning in result.warnings] == [Caution.LOST_SEPARATOR]


@pytest.mark.parametrize(
    ("rest", "hidden"),
    [
        ("10AB117270630", "17270630"),
        ("10AB117270600", "17270600"),
        ("10AB111260101", "11260101"),
        ("21S717270630", "17270630"),
        ("10AB11727063021S7", "1727063021S7"),
        ("21S71727063010AB1", "1727063010AB1"),
    ],
)
def test_a_date_at_the_end_of_a_lot_or_serial_is_pointed_out(rest: str, hidden: str) -> None:
    result = read(ITEM + rest)
    assert [warning.code for warning in result.warnings] == [Caution.LOST_SEPARATOR]
    assert result.warnings[0].values["hidden"] == hidden


@pytest.mark.parametrize("lot", ["17270630", "AB17271330", "AB17270631", "1727063", "AB1127063"])
def test_a_lot_that_hides_no_date_is_left_in_peace(lot: str) -> None:
    assert cautions(f"{ITEM}10{lot}") == []


@pytest.mark.parametrize("symbology", ["]c1", "]D2", "]q3"])
def test_caps_lock_shows_in_the_symbology_and_letters_are_not_turned_back(symbology: str) -> None:
    result = read(f"{symbology}{ITEM}10ab1")
    assert result.lot == "ab1"
    assert [warning.code for warning in result.warnings] == CAPS_LOCK


def test_databar_with_caps_lock_is_not_taken_for_ean_13() -> None:
    assert cautions(f"]E0{ITEM}10ab1") == CAPS_LOCK
    assert cautions("]E02345678901234") == []


def test_small_letters_alone_are_pointed_out() -> None:
    assert cautions(f"{ITEM}10ab1") == [Caution.LOWER_CASE]
    assert cautions(f"https://a.example/01/{ITEM[2:]}/10/ab1") == [Caution.LOWER_CASE]
    assert cautions(f"{ITEM}10aB1") == []
    assert cautions(f"{ITEM}10123") == []


# A scanner set to a US keyboard on a computer set to a French one: 0 is `à`, 1 is `&`, 2 is `é`.
def test_another_keyboard_language_is_named_where_it_shows() -> None:
    for text in ('à&àé"\'(-è_çà&é"è&à', f"{ITEM}10AB£1", "&àQB&"):
        with pytest.raises(ScanError) as refused:
            read(text)
        assert refused.value.code is Fault.KEYBOARD
