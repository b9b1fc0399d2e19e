"""The boxes of a loan as text, as it is copied from a delivery note or a spreadsheet."""

from __future__ import annotations

import pytest

from scheduling.loans.delivery_note import NoteFaults, read_delivery_note

KNOWN = {"NA-12", "HEAD 36", "CUP 54 2"}


@pytest.mark.parametrize(
    "line",
    ["NA-12\t8", "NA-12; 8", "NA-12,8", "NA-12 8", "NA-12 × 8", "NA-12 x8", "  NA-12 *8 "],
)
def test_ref_and_number_however_they_are_parted(line):
    assert read_delivery_note(line, KNOWN) == {"NA-12": 8}


def test_a_ref_may_hold_blanks_and_end_in_a_number():
    text = "HEAD 36\nHEAD 36 3\nCUP 54 2\nCUP 54 2\t4\n\n"
    assert read_delivery_note(text, KNOWN) == {"HEAD 36": 4, "CUP 54 2": 5}


def test_all_faults_at_once_each_with_its_line():
    with pytest.raises(NoteFaults) as faults:
        read_delivery_note("NA-12 0\nXX 3\nNA-12 501", KNOWN)
    assert faults.value.faults == [
        "line 1: NA-12: 1 or more, or no line",
        "line 2: “XX” is not in the catalogue",
        "more than 500 boxes: make it two loans",
    ]
