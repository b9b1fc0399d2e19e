from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.pick_lists.paper import Paper, paginate


@dataclass(frozen=True)
class Piece:
    name: str
    height: float = 10.0
    keeps_next: bool = False
    again: Any = field(default=None, compare=False)

    def draw(self, canvas: Any, x: float, top: float, width: float) -> None:
        raise AssertionError("nothing is drawn here")


def names(pages):
    return [[placed.block.name for placed in page] for page in pages]


def test_paper_sizes_are_those_of_the_trade():
    assert [round(side / 72 * 25.4) for side in Paper.A4.size] == [210, 297]
    assert [round(side / 72, 1) for side in Paper.LETTER.size] == [8.5, 11.0]


def test_a_heading_goes_with_what_it_heads():
    head, sub = Piece("head", keeps_next=True), Piece("sub", keeps_next=True)
    assert names(paginate([Piece("a"), head, sub, Piece("b")], 30)) == [["a"], ["head", "sub", "b"]]


def test_a_group_that_goes_on_says_where_it_is():
    place = Piece("place", keeps_next=True)
    again = Piece("place, continued", keeps_next=True)
    rows = [Piece(name, again=again) for name in "abc"]
    assert names(paginate([place, *rows], 30)) == [
        ["place", "a", "b"],
        ["place, continued", "c"],
    ]


def test_a_block_too_high_for_a_page_has_one_of_its_own():
    assert names(paginate([Piece("a"), Piece("b", 99), Piece("c")], 30)) == [["a"], ["b"], ["c"]]


def test_nothing_is_one_empty_page():
    assert paginate([], 30) == [[]]


HEIGHTS = st.floats(1, 30)
GROUPS = st.lists(
    st.tuples(st.lists(HEIGHTS, max_size=2), st.lists(HEIGHTS, min_size=1, max_size=4)), max_size=8
)
"""Headings (at most a part's and a place's), then rows."""


@given(GROUPS)
def test_all_blocks_in_order_within_the_room_and_no_orphan_heading(groups):
    shape = [
        (height, is_heading)
        for headings, rows in groups
        for heights, is_heading in ((headings, True), (rows, False))
        for height in heights
    ]
    blocks = [Piece(str(i), height, keeps) for i, (height, keeps) in enumerate(shape)]
    pages = paginate(blocks, 100)
    assert [name for page in names(pages) for name in page] == [block.name for block in blocks]
    for page in pages:
        for above, below in pairwise(page):
            assert below.top == pytest.approx(above.top + above.block.height)
        if page:
            assert page[-1].top + page[-1].block.height <= 100 + 1e-6
            assert not page[-1].block.keeps_next
