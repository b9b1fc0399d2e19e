"""50,000 codes, whole and damaged: a scan error or a right reading, and nothing else; what was
built is read back as it was.  What is right is said by `test_fuzz.py`, without the code under test.

The longer run: LONGER=1 deploy/test tests/implants/udi/test_fuzz_at_length.py
"""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta

import pytest

from implants.udi import ScanError, read_scan
from implants.udi.digital_link import implant_link
from tests.implants.udi.test_fuzz import (
    SET_82,
    STAND_INS,
    TODAY,
    as_bracketed,
    as_raw,
    check,
    completed,
    read_or_refusal,
)
from tests.proof.figures import size

CODES = size(50_000, 2_000_000)
BATCHES = 10
ADDED = ["", *SET_82, "\x1d", " ", "^", "]", "\u00e9", "\u0667", "\0", "+", "$"]


class Codes:
    """Codes as labels have them, drawn by one die."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)

    def text(self, characters: str, shortest: int, longest: int) -> str:
        return "".join(self.dice.choices(characters, k=self.dice.randint(shortest, longest)))

    def gtin(self) -> str:
        return completed(self.text("0123456789", 13, 13))

    def day(self) -> date:
        return date(1977, 1, 1) + timedelta(days=self.dice.randrange(36_000))

    def elements(self) -> list[tuple[str, str]]:
        said = [
            ("01", self.gtin()),
            ("17", self.day().strftime("%y%m%d")),
            ("10", self.text(SET_82, 1, 20)),
            ("21", self.text(SET_82, 1, 20)),
            ("240", self.text(SET_82, 1, 20)),
        ]
        chosen = [said[0], *self.dice.sample(said[1:], self.dice.randint(0, 4))]
        self.dice.shuffle(chosen)
        return chosen

    def link(self) -> str:
        lot, serial = (self.text(SET_82.replace(".", ""), 1, 20) for _ in range(2))
        return implant_link("https://a.example", self.gtin(), lot, serial, self.day())

    def whole(self) -> str:
        raw = as_raw(self.elements())
        return self.dice.choice([raw, "]C1" + raw, as_bracketed(self.elements()), self.link()])

    def damaged(self) -> str:
        text = self.whole()
        for _ in range(self.dice.randint(1, 4)):
            place = self.dice.randint(0, len(text))
            text = text[:place] + self.dice.choice(ADDED) + text[place + self.dice.randint(0, 1) :]
        return text


@pytest.mark.parametrize("batch", range(BATCHES))
def test_an_error_or_a_right_reading(batch, figures):
    outcomes: Counter[str] = Counter()
    codes = Codes(batch)
    for number in range(CODES // BATCHES):
        if number % 5 == 0:
            elements = codes.elements()
            mark = codes.dice.choice(STAND_INS)
            read = read_scan(as_raw(elements, mark), today=TODAY)
            assert list(read.ai.items()) == elements
            assert read_scan(as_bracketed(elements), today=TODAY) == read
            outcomes["read_back"] += 1
            continue
        text = codes.damaged() if number % 5 < 4 else codes.text(SET_82 + "\x1d", 0, 60)
        check(text)
        is_refused = isinstance(read_or_refusal(text), ScanError)
        outcomes["refused" if is_refused else "read_right"] += 1
    figures("Barcode fuzz", codes=outcomes.total(), **outcomes, wrong=0)
    assert all(outcomes[name] > 0 for name in ("read_back", "refused", "read_right"))
