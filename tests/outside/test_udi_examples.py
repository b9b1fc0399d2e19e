"""Identities of devices as regulators and standards bodies publish them."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Fault, ScanError, read_scan

TODAY = date(2026, 6, 1)


# FDA, UDI formats by FDA-accredited issuing agency, v1.3, 2017 (text seen; computed with biip
# 5.2.0).
def test_the_fda_example() -> None:
    result = read_scan("(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234", today=TODAY)
    assert result.gtin == "51022222233336"
    assert (result.made, result.expiry) == (date(2014, 12, 31), date(2015, 7, 7))
    assert (result.lot, result.serial) == ("A213B1", "1234")
    assert result.warnings == ()


# IMDRF/UDI WG/N48:2019, App. A (text seen; computed with biip 5.2.0).
def test_the_imdrf_example() -> None:
    result = read_scan("(01)09506000117843(11)141231(17)201231(10)1234AB(21)5678CD", today=TODAY)
    assert result.gtin == "09506000117843"
    assert (result.made, result.expiry) == (date(2014, 12, 31), date(2020, 12, 31))
    assert (result.lot, result.serial) == ("1234AB", "5678CD")
    assert result.warnings == ()


# HL7 US Core STU5, example Device udi-1, a femoral stem (text seen; computed with biip 5.2.0).
def test_the_hl7_example_keeps_its_small_letter() -> None:
    result = read_scan("(01)09504000059118(17)141120(10)7654321D(21)10987654d321", today=TODAY)
    assert result.gtin == "09504000059118"
    assert result.expiry == date(2014, 11, 20)
    assert (result.lot, result.serial) == ("7654321D", "10987654d321")
    assert result.warnings == ()


# HL7 v2.9, PRT-10 (text seen): the first character tells the standard.  The strings: IMDRF N48
# App. A (text seen).  HIBC is read: `test_hibc.py`.
@pytest.mark.parametrize(
    ("text", "standard"),
    [
        (
            "=/A9999XYZ100T0944=,000025=A99971312345600=>014032=}013032&,1000000000000XYZ123",
            "ISBT 128",
        ),
        ("&,1000000000000XYZ123", "ISBT 128"),
    ],
)
def test_other_standards_are_recognised_and_not_read(text: str, standard: str) -> None:
    with pytest.raises(ScanError) as refused:
        read_scan(text, today=TODAY)
    assert refused.value.code is Fault.NOT_READ_YET
    assert refused.value.values == {"standard": standard}


# The same rule: a digit or an opening bracket is GS1.
@pytest.mark.parametrize("text", ["0109506000117843101234AB", "(01)09506000117843(10)1234AB"])
def test_a_digit_or_a_bracket_is_gs1(text: str) -> None:
    result = read_scan(text, today=TODAY)
    assert (result.gtin, result.lot) == ("09506000117843", "1234AB")


# US Core examples whose item numbers are bad (text seen; computed with biip 5.2.0); what follows
# the numbers is left out.
def test_published_bad_item_numbers_are_refused() -> None:
    with pytest.raises(ScanError) as wrong_digit:
        read_scan("(01)99863313444316", today=TODAY)
    assert wrong_digit.value.code is Fault.CHECK_DIGIT
    assert wrong_digit.value.values["expected"] == "2"
    with pytest.raises(ScanError) as too_short:
        read_scan("(01)987979879879", today=TODAY)
    assert too_short.value.code is Fault.FORM
