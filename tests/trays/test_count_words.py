from __future__ import annotations

import pytest

from trays.count_words import CountEntryFault, Said, read_entry

REFS = {"R12", "3", "m"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("p", Said(present=4)),
        ("0", Said(present=0)),
        ("M ", Said(present=0)),
        (" 2 ", Said(present=2)),
        ("b", Said(present=3, broken=1)),
        ("B 4", Said(present=0, broken=4)),
        ("r BASE/4, rack", Said(present=4, replaced_by="BASE/4, rack")),
        ("<", Said(back=True)),
        ("R12", Said(ref="R12")),
        ("3", Said(ref="3")),  # The piece's own code is what was scanned, whatever it looks like.
        ("m", Said(ref="m")),
    ],
)
def test_reads(text: str, said: Said) -> None:
    assert read_entry(text, expected=4, refs=REFS) == said


@pytest.mark.parametrize("text", ["5", "b 5", "b0", "r", "R99", "-1", "", "1.5"])
def test_refuses(text: str) -> None:
    with pytest.raises(CountEntryFault):
        read_entry(text, expected=4, refs=REFS)


def test_filled_up_says_how_many_and_from_which_lot() -> None:
    said = read_entry("f4 LOT 77", expected=6, refs=())
    assert (said.present, said.refilled, said.replaced_by) == (6, 4, "LOT 77")
    with pytest.raises(CountEntryFault, match="filled up: 1 to 6"):
        read_entry("f 7 LOT 77", expected=6, refs=())
