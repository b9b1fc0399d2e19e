"""HIBC codes as standards bodies and regulators publish them."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Fault, ScanError, read_scan, read_two
from implants.udi.hibc_check import CHARACTERS, check_character

TODAY = date(2026, 6, 1)


# The worked example of the HIBC standard: sum 145, character G (seen in reproductions, computed);
# the others published in the same way.
@pytest.mark.parametrize(
    ("payload", "character"),
    [
        ("+A123BJC5D6E71", "G"),
        ("+A99912345", "7"),
        ("+A1234BJC5D6E71", "K"),
        ("07000503", "F"),
    ],
)
def test_check_characters(payload: str, character: str) -> None:
    assert check_character(payload) == character


def test_the_sum_of_the_worked_example() -> None:
    assert sum(CHARACTERS.index(one) for one in "+A123BJC5D6E71") == 145
    assert "".join(CHARACTERS) == "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"


# FDA, UDI formats by FDA-accredited issuing agency, v1.3, 2017, and IMDRF/UDI WG/N48:2019, App. A
# (text seen).  The check character printed there, C, is wrong; H is right (computed).
PUBLISHED = "+H123PARTNO1234567890120/$$420020216LOT123456789012345/SXYZ456789012345678/16D20130202"


def test_the_fda_example() -> None:
    result = read_scan(f"{PUBLISHED}H", today=TODAY)
    assert result.hibc == "H123PARTNO1234567890120"
    assert result.hibc[:4] == "H123"
    assert result.hibc[4:-1] == "PARTNO123456789012"
    assert result.hibc[-1] == "0"
    assert (result.expiry, result.made) == (date(2020, 2, 2), date(2013, 2, 2))
    assert (result.lot, result.serial) == ("LOT123456789012345", "XYZ456789012345678")
    assert result.warnings == ()


def test_the_fda_example_as_it_is_printed_is_refused() -> None:
    with pytest.raises(ScanError) as refused:
        read_scan(f"{PUBLISHED}C", today=TODAY)
    assert refused.value.code is Fault.CHECK_CHARACTER
    assert refused.value.values["expected"] == "H"


# IMDRF/UDI WG/N48:2019, App. C (text seen; sums computed).
def test_the_imdrf_example_and_its_twin_that_is_bad() -> None:
    result = read_scan("+A999ABC123DE0/$+1234567Y", today=TODAY)
    assert (result.hibc, result.serial) == ("A999ABC123DE0", "1234567")
    with pytest.raises(ScanError) as refused:
        read_scan("+A999ABC123DE1/$+1234567Y", today=TODAY)
    assert refused.value.code is Fault.CHECK_CHARACTER
    assert refused.value.values["expected"] == "Z"


# IMDRF/UDI WG/N48:2019, App. A (text seen): how the secondary data begins, and its date.  The
# date of each form is written here for one day, 2 February 2020, the 33rd of its year.
DATED = [
    ("0220", date(2020, 2, 29)),  # MMYY: the last day of the month
    ("2020220", date(2020, 2, 2)),  # MMDDYY
    ("3200202", date(2020, 2, 2)),  # YYMMDD
    ("420020216", date(2020, 2, 2)),  # YYMMDDHH
    ("520033", date(2020, 2, 2)),  # YYJJJ
    ("62003316", date(2020, 2, 2)),  # YYJJJHH
]


@pytest.mark.parametrize(("written", "expiry"), [*DATED, ("7", None)])  # 7: no date
def test_every_form_of_date_before_a_lot(written: str, expiry: date | None) -> None:
    lot = f"+H123PARTNO0/$${written}LOT1"
    result = read_scan(lot + check_character(lot), today=TODAY)
    assert (result.expiry, result.lot, result.serial) == (expiry, "LOT1", "")


@pytest.mark.parametrize(("written", "expiry"), DATED)
def test_every_form_of_date_before_a_serial(written: str, expiry: date) -> None:
    serial = f"+H123PARTNO0/$$+{written}S1"
    result = read_scan(serial + check_character(serial), today=TODAY)
    assert (result.expiry, result.lot, result.serial) == (expiry, "", "S1")


@pytest.mark.parametrize(
    ("field", "lot", "serial"),
    [("$L1", "L1", ""), ("$+S1", "", "S1"), ("$$+0220S1", "", "S1"), ("$L1/SS1", "L1", "S1")],
)
def test_lot_and_serial_by_how_they_begin(field: str, lot: str, serial: str) -> None:
    text = f"+H123PARTNO0/{field}"
    result = read_scan(text + check_character(text), today=TODAY)
    assert (result.lot, result.serial) == (lot, serial)


def test_dates_in_fields_of_their_own() -> None:
    text = "+H123PARTNO0/$L1/16D20130202/14D20200202"
    result = read_scan(text + check_character(text), today=TODAY)
    assert (result.made, result.expiry) == (date(2013, 2, 2), date(2020, 2, 2))


# The item of the worked example, its own check character G as the secondary's link.
def test_primary_and_secondary_are_one_label() -> None:
    secondary = "+$$3200202LOT1G"
    result = read_two("+A123BJC5D6E71G", secondary + check_character(secondary), today=TODAY)
    assert (result.hibc, result.lot, result.expiry) == (
        "A123BJC5D6E71",
        "LOT1",
        date(2020, 2, 2),
    )
