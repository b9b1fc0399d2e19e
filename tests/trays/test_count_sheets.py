from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trays.count_sheets import CountSheetFaults, read_count_sheet, say_count_sheet


def test_one_instrument_a_line_in_tray_order():
    text = "R13\nR12 × 2\n\n  CLAMP x 10  \n"
    known = {"R12", "R13", "CLAMP"}
    assert list(read_count_sheet(text, known).items()) == [("R13", 1), ("R12", 2), ("CLAMP", 10)]


def test_all_faults_are_named_with_their_lines():
    with pytest.raises(CountSheetFaults) as error:
        read_count_sheet("R12\nR99\nR12 × 3\nR13 × 0", {"R12", "R13"})
    assert error.value.faults == [
        "line 2: there is no instrument R99",
        "line 3: R12 has a line already",
        "line 4: R13: 1 or more, or no line",
    ]


refs = st.from_regex(r"[A-Za-z0-9/-]{1,6}( [x×*]? ?[0-9a-z]{1,3})?", fullmatch=True)


@given(st.dictionaries(refs, st.integers(1, 99)))
def test_what_is_said_is_read_back(contents):
    read = read_count_sheet(say_count_sheet(contents), set(contents))
    assert list(read.items()) == list(contents.items())
