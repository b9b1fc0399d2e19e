"""The one door: which reader, and what is not ours."""

from __future__ import annotations

import subprocess
import sys
from datetime import date

import pytest

from implants.udi import Caution, Fault, Kind, ScanError, ScanRead, read_scan

TODAY = date(2026, 6, 1)
GTIN = "02345678901234"


def read(text: str) -> ScanRead:
    return read_scan(text, today=TODAY)


def refused(text: str) -> ScanError:
    with pytest.raises(ScanError) as caught:
        read(text)
    return caught.value


@pytest.mark.parametrize("text", ["", " ", "\r\n", "]C1", "\x1d", "]d2\x1d"])
def test_nothing_is_nothing(text: str) -> None:
    assert refused(text).code in (Fault.NOTHING, Fault.UNKNOWN_AI)


@pytest.mark.parametrize(
    "text",
    [
        "TRAY-BASE-2",
        "ADD/9",
        "2",
        "5-BASE",
        "L-7F3K",
        "Größe",
        "https://muster.example.org/l/7F3K/2",
        "https://",
        "http://[bad/01/02345678901234",
        "ftp://muster.example.org/01/02345678901234",
        "A" * 5000,
    ],
)
def test_codes_of_the_house_are_left_to_the_caller(text: str) -> None:
    assert refused(text).code is Fault.NOT_A_CODE


def test_all_that_a_box_says_is_read() -> None:
    assert read(f"]C101{GTIN}1126010117310131" + "10AB1\x1d21S7\x1d240N-12") == ScanRead(
        kind=Kind.ELEMENT_STRING,
        gtin=GTIN,
        lot="AB1",
        serial="S7",
        expiry=date(2031, 1, 31),
        made=date(2026, 1, 1),
        ai={
            "01": GTIN,
            "11": "260101",
            "17": "310131",
            "10": "AB1",
            "21": "S7",
            "240": "N-12",
        },
    )


def test_an_asset_is_read() -> None:
    result = read("]C18004BASE-2")
    assert (result.giai, result.gtin) == ("BASE-2", "")
    assert result.names_an_asset
    assert not result.names_an_item
    assert read("(8003)02345678901234T1").grai == "02345678901234T1"


def test_the_earlier_of_two_use_by_dates_counts() -> None:
    assert read(f"(01){GTIN}(17)270630(7003)2706291200").expiry == date(2027, 6, 29)
    assert read(f"(01){GTIN}(17)270628(7003)2706291200").expiry == date(2027, 6, 28)


@pytest.mark.parametrize("moment", ["2706292400", "2706291260", "2713291200"])
def test_a_use_by_moment_that_does_not_exist_is_refused(moment: str) -> None:
    assert refused(f"(01){GTIN}(7003){moment}").code is Fault.DATE


def test_the_same_element_twice_is_harmless_and_two_values_are_not() -> None:
    assert read(f"(01){GTIN}(10)A(10)A").lot == "A"
    refusal = refused(f"(01){GTIN}(10)A(10)B")
    assert refusal.code is Fault.STATED_TWICE
    assert refusal.values == {"ai": "10", "value": "A", "other": "B"}


@pytest.mark.parametrize("extra", ["(04)1234567890123756", "(7999)X", "(29)X"])
def test_an_unknown_identifier_is_tolerated_and_pointed_out(extra: str) -> None:
    result = read(f"(01){GTIN}{extra}")
    assert result.gtin == GTIN
    assert [warning.code for warning in result.warnings] == [Caution.UNKNOWN_AI]


@pytest.mark.parametrize(
    ("extra", "code"),
    [
        ("(04)123456789012345", Fault.FORM),
        ("(7999)" + "X" * 91, Fault.FORM),
        ("(7999)A#B", Fault.BAD_CHARACTER),
    ],
)
def test_an_unknown_identifier_has_to_be_well_formed(extra: str, code: Fault) -> None:
    assert refused(f"(01){GTIN}{extra}").code is code


def test_an_unknown_identifier_in_a_raw_code_has_the_length_of_its_kind() -> None:
    # 04 has a fixed length, 7299 is ended by a separator, and nothing is agreed on 29.
    result = read(f"04123456789012375601{GTIN}7299AB\x1d10A")
    assert (result.gtin, result.lot) == (GTIN, "A")
    assert refused(f"01{GTIN}29AB").code is Fault.UNKNOWN_AI


@pytest.mark.parametrize(
    "text",
    ["(01", "()X", "(01)02345678901234X(10", "(012)0234", "(01)02345678901234(10)A(B", "(AB)1"],
)
def test_brackets_that_do_not_fit_are_refused(text: str) -> None:
    assert refused(text).code in (Fault.BRACKETS, Fault.FORM)


def test_blanks_beside_brackets_are_tolerated_and_blanks_in_values_are_not() -> None:
    assert read(f" (01) {GTIN} (10) A1 ").lot == "A1"
    assert refused(f"(01){GTIN}(10)A 1").code is Fault.BAD_CHARACTER


def test_digits_of_other_scripts_are_refused() -> None:
    sevens = "\N{ARABIC-INDIC DIGIT SEVEN}" * 6
    assert refused(f"(01){GTIN}(17){sevens}").code is Fault.KEYBOARD
    encoded = "%D9%A7" * 14
    assert refused(f"https://a.example/01/{encoded}").code is Fault.BAD_CHARACTER


@pytest.mark.parametrize("text", ["234567890129", "2345678901234", "02345678901234"])
def test_an_unmarked_item_number_is_read_at_14_digits(text: str) -> None:
    result = read(text)
    assert result.kind is Kind.GTIN
    assert result.gtin == text.zfill(14)


def test_an_ean_8_symbol_holds_an_item_number() -> None:
    assert read("]E402345673").gtin == "00000002345673"


@pytest.mark.parametrize("text", ["8004123456784", "1012345678904", "17270630101235"])
def test_digits_that_can_be_two_things_are_refused(text: str) -> None:
    assert refused(text).code is Fault.TWO_READINGS
    assert read("]C18004123456784").giai == "123456784"


def test_other_standards_are_told_apart_under_a_plain_symbology_too() -> None:
    assert refused("]C0=A99971312345600").values == {"standard": "ISBT 128"}
    assert read("]C0+A999ABC123DE0F").kind is Kind.HIBC
    assert read(f"]Q1https://a.example/01/{GTIN}").kind is Kind.DIGITAL_LINK
    assert read(f"]d101{GTIN}10A").lot == "A"


def test_nothing_here_needs_django() -> None:
    check = "import implants.udi, sys; sys.exit('django' in sys.modules)"
    subprocess.run([sys.executable, "-c", check], check=True)
