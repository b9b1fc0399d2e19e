"""HIBC codes: what is refused, what a keyboard does to them, and two codes of one label."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from implants.udi import Caution, Fault, Kind, ScanError, ScanRead, read_scan, read_two
from implants.udi.hibc_check import CHARACTERS, check_character

TODAY = date(2026, 6, 1)
ITEM = "+H123PARTNO0"
GS1_ITEM = "0102345678901234"


def checked(text: str) -> str:
    return text + check_character(text)


def read(text: str) -> ScanRead:
    return read_scan(text, today=TODAY)


def refused(text: str) -> ScanError:
    with pytest.raises(ScanError) as caught:
        read(text)
    return caught.value


def joined(first: str, second: str) -> ScanRead:
    return read_two(first, second, today=TODAY)


def test_all_that_a_box_says_is_read() -> None:
    text = checked(f"{ITEM}/$$8053310131LOT-1/SS.7/16D20260101")
    assert read(text) == ScanRead(
        kind=Kind.HIBC,
        hibc="H123PARTNO0",
        lot="LOT-1",
        serial="S.7",
        expiry=date(2031, 1, 31),
        made=date(2026, 1, 1),
        quantity=5,
    )


@pytest.mark.parametrize(
    ("fields", "quantity", "lot"),
    [
        ("$$805", 5, ""),
        ("$$8057L1", 5, "L1"),
        ("$$9000127L1", 12, "L1"),
        ("$L1/Q12", 12, "L1"),
    ],
)
def test_quantities(fields: str, quantity: int, lot: str) -> None:
    result = read(checked(f"{ITEM}/{fields}"))
    assert (result.quantity, result.lot) == (quantity, lot)


def test_a_month_alone_is_its_last_day_and_pointed_out() -> None:
    result = read(checked(f"{ITEM}/$$0228L1"))
    assert result.expiry == date(2028, 2, 29)
    assert [warning.code for warning in result.warnings] == [Caution.DAY_NOT_STATED]


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ("$", Fault.EMPTY),
        ("$+", Fault.EMPTY),
        ("S", Fault.EMPTY),
        ("$$", Fault.DATE),
        ("$$3270631L1", Fault.DATE),
        ("$$1327L1", Fault.DATE),
        ("$$3 70630L1", Fault.DATE),
        ("$$427063024L1", Fault.DATE),
        ("$$527366L1", Fault.DATE),
        ("$$527000L1", Fault.DATE),
        ("14D20270231", Fault.DATE),
        ("14D00000101", Fault.DATE),
        ("$$8X57L1", Fault.FORM),
        ("Q", Fault.FORM),
        ("$L 1", Fault.FORM),
        ("$" + "L" * 21, Fault.FORM),
        ("ZZZ", Fault.FORM),
        ("", Fault.FORM),
        ("$L1/$L2", Fault.STATED_TWICE),
        ("$$3270630L1/14D20270629", Fault.STATED_TWICE),
    ],
)
def test_fields_that_cannot_be_read(fields: str, code: Fault) -> None:
    assert refused(checked(f"{ITEM}/{fields}")).code is code


@pytest.mark.parametrize(
    "item", ["H1230", "H12", "H123" + "P" * 19 + "0", "H123PARTNOX", "H123P-10"]
)
def test_items_of_another_form(item: str) -> None:
    assert refused(checked(f"+{item}")).code is Fault.FORM


@pytest.mark.parametrize("text", ["+", "+A", "+7", "+\N{DEGREE SIGN}A"])
def test_too_little_to_be_a_code(text: str) -> None:
    assert refused(text).code in (Fault.FORM, Fault.CHECK_CHARACTER, Fault.KEYBOARD)


def test_caps_lock_is_turned_back_and_pointed_out() -> None:
    text = checked(f"{ITEM}/$LOT1")
    for turned in (text.lower(), "]c0" + text.lower(), "]D1" + text.lower()):
        result = read(turned)
        assert (result.hibc, result.lot) == ("H123PARTNO0", "LOT1")
        assert [warning.code for warning in result.warnings] == [Caution.CAPS_LOCK]


@pytest.mark.parametrize("symbology", ["", "]C0", "]A1", "]d1", "]Q1", "]Q2"])
def test_whatever_symbol_carries_it(symbology: str) -> None:
    assert read(symbology + checked(f"{ITEM}/$LOT1") + "\r\n").lot == "LOT1"


# A scanner set to a US keyboard on a computer set to a German one: Y and Z change places, `/`
# comes as `-`, and `+` as an accent.
@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("+Y999ABC123DE0-$LOT1", Fault.CHECK_CHARACTER),
        ("+A999ABC123DE0/$LOT\N{POUND SIGN}1G", Fault.KEYBOARD),
        ("+A999ABC123DE0/$LOT=1G", Fault.BAD_CHARACTER),
    ],
)
def test_another_keyboard_language_is_refused(typed: str, code: Fault) -> None:
    assert refused(typed).code is code


def test_a_check_character_that_is_a_blank() -> None:
    text = "+A999X490"
    assert check_character(text) == " "
    for typed in (f"{text} ", f"{text} \r\n", f"{text}_", f"]C0{text} \t"):
        assert read(typed).hibc == "A999X490"
    assert refused(text).code is Fault.CHECK_CHARACTER
    assert read(checked(f"{ITEM}/$LOT1") + " ").lot == "LOT1"


@given(place=st.integers(1, 26), step=st.integers(1, len(CHARACTERS) - 1))
def test_one_wrong_character_is_never_read(place: int, step: int) -> None:
    text = checked(f"{ITEM}/$$3270630LOT1")
    wrong = CHARACTERS[(CHARACTERS.index(text[place]) + step) % len(CHARACTERS)]
    damaged = text[:place] + wrong + text[place + 1 :]
    with pytest.raises(ScanError):
        read_scan(damaged, today=TODAY)


class TestTwoCodes:
    secondary = checked("+$$3270630LOT1" + check_character(ITEM))

    def test_hibc_in_either_order(self) -> None:
        primary = checked(ITEM)
        for first, second in ((primary, self.secondary), (self.secondary, primary)):
            result = joined(first, second)
            assert (result.hibc, result.lot) == ("H123PARTNO0", "LOT1")
            assert result.expiry == date(2027, 6, 30)

    def test_a_secondary_alone_names_no_item(self) -> None:
        refusal = refused(self.secondary)
        assert refusal.code is Fault.NEEDS_PRIMARY
        assert refusal.values == {"ai": "17", "value": "2027-06-30"}

    def test_a_secondary_of_another_item(self) -> None:
        with pytest.raises(ScanError) as caught:
            joined(checked("+H123OTHER10"), self.secondary)
        assert caught.value.code is Fault.OTHER_LABEL

    def test_gs1_in_either_order(self) -> None:
        rest = "]C11727063010LOT1\x1d21S7"
        for first, second in (
            (GS1_ITEM, rest),
            (rest, f"(01){GS1_ITEM[2:]}"),
            ("]E02345678901234", "(17)270630(10)LOT1(21)S7"),
        ):
            result = joined(first, second)
            assert (result.gtin, result.lot, result.serial) == ("02345678901234", "LOT1", "S7")
            assert result.expiry == date(2027, 6, 30)

    @pytest.mark.parametrize(
        ("first", "second", "code"),
        [
            (GS1_ITEM, checked("+$LOT1G"), Fault.OTHER_LABEL),
            (GS1_ITEM, f"{GS1_ITEM[:-1]}5", Fault.CHECK_DIGIT),
            (GS1_ITEM, "0102345678901241", Fault.STATED_TWICE),
            ("]C18004BASE-2", "]C18004BASE-2", Fault.OTHER_LABEL),
            ("10L1", "10L1", Fault.NEEDS_ITEM),
            (GS1_ITEM, "", Fault.NOTHING),
        ],
    )
    def test_what_makes_no_label(self, first: str, second: str, code: Fault) -> None:
        with pytest.raises(ScanError) as caught:
            joined(first, second)
        assert caught.value.code is code
