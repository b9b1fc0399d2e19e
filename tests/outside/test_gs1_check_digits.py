"""GS1 check digits against published numbers."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Fault, ScanError, read_scan
from implants.udi.check_digit import check_digit, has_right_check_digit

TODAY = date(2026, 6, 1)


# GS1, check digit calculator, manual calculation (text seen; computed with biip 5.2.0);
# GS1 India, How to calculate the check digit (text seen; computed with biip 5.2.0).
@pytest.mark.parametrize(("payload", "digit"), [("629104150021", "3"), ("890400021003", "7")])
def test_the_digit_of_a_published_payload(payload: str, digit: str) -> None:
    assert check_digit(payload) == digit


# GS1 Syntax Dictionary, check-sum linter tests (text seen; computed with biip 5.2.0).
@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("12345678901231", "12345678901232"),
        ("1234567890128", "1234567890129"),
        ("416000336108", "416000336109"),
        ("02345673", "12345673"),
        ("123456789012345675", "123456789012345670"),
        ("24012345678905", "24012345678909"),
    ],
)
def test_good_numbers_pass_and_bad_ones_do_not(good: str, bad: str) -> None:
    assert has_right_check_digit(good)
    assert not has_right_check_digit(bad)


# GS1 Syntax Dictionary, check-sum linter tests (text seen): not numeric is an error.
@pytest.mark.parametrize("text", ["", " ", "A", "1234567890123 ", "123456789012A", "12 45"])
def test_what_is_not_digits_is_an_error_and_not_a_wrong_digit(text: str) -> None:
    with pytest.raises(ValueError, match="digits only"):
        check_digit(text)
    with pytest.raises(ValueError, match="digits only"):
        has_right_check_digit(text)


# The SSCC of the same linter tests (text seen; biip 5.2.0 accepts the wrong one in a message).
def test_a_wrong_check_digit_in_an_sscc_is_refused() -> None:
    assert read_scan("(00)123456789012345675", today=TODAY).ai == {"00": "123456789012345675"}
    with pytest.raises(ScanError) as refused:
        read_scan("(00)123456789012345670", today=TODAY)
    assert refused.value.code is Fault.CHECK_DIGIT
    assert refused.value.values["expected"] == "5"
