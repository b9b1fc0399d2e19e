"""The check digit, against values from outside and against the one of the scanner's side."""

from __future__ import annotations

import random

import pytest

from deploy.kit.workbooks.cells import Cell
from deploy.kit.workbooks.faults import Unfit
from deploy.kit.workbooks.gtins import fits, read_gtin
from deploy.kit.workbooks.words import Code
from implants.udi.check_digit import has_right_check_digit

# GS1 Syntax Dictionary, check-sum linter tests.
GOOD = ("12345678901231", "1234567890128", "416000336108", "02345673", "24012345678905")
BAD = ("12345678901232", "1234567890129", "416000336109", "12345673", "24012345678909")


@pytest.mark.parametrize("digits", GOOD)
def test_published_good_ones_are_read(digits: str) -> None:
    assert read_gtin(Cell(digits)) == digits.zfill(14)


@pytest.mark.parametrize("digits", BAD)
def test_published_bad_ones_are_refused(digits: str) -> None:
    with pytest.raises(Unfit) as refused:
        read_gtin(Cell(digits))
    assert refused.value.code is Code.GTIN_CHECK_DIGIT


@pytest.mark.parametrize("digits", [d for d in GOOD if not d.startswith("0")])
def test_zeros_are_put_back_only_where_the_check_digit_fits(digits: str) -> None:
    assert read_gtin(Cell(int(digits))) == digits.zfill(14)
    with pytest.raises(Unfit) as refused:
        read_gtin(Cell(int(digits) + 1))
    assert refused.value.code is Code.GTIN_NUMBER


def test_both_check_digits_of_the_house_agree() -> None:
    dice = random.Random(14)
    numbers = [str(dice.randrange(10**13, 10**14)) for _ in range(500)]
    assert [fits(number) for number in numbers] == [has_right_check_digit(n) for n in numbers]
    assert 20 < sum(map(fits, numbers)) < 80
