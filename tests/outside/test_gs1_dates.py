"""Six-digit dates against published examples."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Caution, Fault, ScanError, read_scan
from implants.udi.dates import CodeDate, full_year, read_date

TODAY = date(2026, 6, 1)


# GS1 General Specifications, AI (17), as quoted in a library's documentation (text seen;
# computed with biip 5.2.0).
@pytest.mark.parametrize(
    ("text", "day"), [("130200", date(2013, 2, 28)), ("160200", date(2016, 2, 29))]
)
def test_day_00_is_the_last_of_the_month(text: str, day: date) -> None:
    assert read_date(text, today=TODAY) == CodeDate(day, day_stated=False)


# GS1 Syntax Dictionary, date linter tests (text seen).
@pytest.mark.parametrize("text", ["210229", "200132", "201310", "200010"])
def test_days_that_do_not_exist_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"month|day"):
        read_date(text, today=TODAY)
    with pytest.raises(ScanError) as refused:
        read_scan(f"(01)12345678901231(17){text}", today=TODAY)
    assert refused.value.code is Fault.DATE


# GS1 Syntax Dictionary, date linter tests (text seen).
@pytest.mark.parametrize(
    ("text", "day"),
    [("200229", date(2020, 2, 29)), ("240229", date(2024, 2, 29)), ("000229", date(2000, 2, 29))],
)
def test_leap_days_are_read(text: str, day: date) -> None:
    assert read_date(text, today=TODAY) == CodeDate(day, day_stated=True)


# GS1 Sweden, 27 Nov 2024; GSCN 21-040 (text seen): a healthcare item states its day.
def test_a_use_by_date_without_a_day_is_read_and_flagged() -> None:
    result = read_scan("(01)12345678901231(17)270200", today=TODAY)
    assert result.expiry == date(2027, 2, 28)
    assert [warning.code for warning in result.warnings] == [Caution.DAY_NOT_STATED]
    assert result.warnings[0].values == {"ai": "17", "date": "2027-02-28"}


# GS1 General Specifications, 7.12: from 49 years back to 50 ahead (range: text seen, quoted;
# values: computed).
@pytest.mark.parametrize(
    ("now", "two_digits", "year"),
    [
        (2025, 75, 2075),
        (2025, 76, 1976),
        (2026, 76, 2076),
        (2026, 77, 1977),
        (2050, 0, 2100),
    ],
)
def test_the_century_depends_on_today(now: int, two_digits: int, year: int) -> None:
    assert full_year(two_digits, today=date(now, 6, 1)) == year
    text = f"{two_digits:02}0601"
    assert read_date(text, today=date(now, 1, 1)).date == date(year, 6, 1)


# ISO 15223-1, 5.1.4 ("date after which"), as quoted (text seen): usable on that day, so that
# the last moment is the end of the very day that the code states.
def test_the_expiry_read_is_the_last_day_of_use() -> None:
    assert read_scan("(01)12345678901231(17)260630", today=TODAY).expiry == date(2026, 6, 30)


# GS1 Syntax Dictionary (text seen): 7003 is YYMMDDHHMM, day 00 not allowed.
def test_a_use_by_moment_states_its_day() -> None:
    assert read_scan("(01)12345678901231(7003)2606301530", today=TODAY).expiry == date(2026, 6, 30)
    with pytest.raises(ScanError) as refused:
        read_scan("(01)12345678901231(7003)2606001530", today=TODAY)
    assert refused.value.code is Fault.DATE
