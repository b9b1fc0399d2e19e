"""500 damaged workbooks: each is refused with faults, or read right.  Never a crash, never wrong.

What counts as right is said by a second reader that shares no code with the first.
The longer run: MUTATIONS=10000 deploy/test tests/kit/workbooks/test_mutations.py
"""

from __future__ import annotations

import os
import random
import time
import tracemalloc
import unicodedata
from collections import Counter
from datetime import date
from decimal import Decimal

import pytest

from deploy.kit.workbooks.columns import Column, Kind
from deploy.kit.workbooks.limits import MB
from deploy.kit.workbooks.values import Reading, Value
from deploy.kit.workbooks.writing import write_workbook
from tests.kit.workbooks.mutations import MUTATIONS
from tests.kit.workbooks.packages import line, number, text, typed, with_rows
from tests.kit.workbooks.plain_reader import PlainCell, PlainSheet, read_plainly
from tests.kit.workbooks.shelf import COLUMNS, GTIN, SHELF, read, rows_of
from tests.proof.figures import Figures

RUNS = int(os.environ.get("MUTATIONS", "500"))
BATCHES = 10
MOST_SECONDS = 2.0
MOST_MEMORY = 200 * MB


def written_by_us() -> bytes:
    rows = [
        {"REF": f"AN-0{n}", "LOT": f"00{n}", "Use by": date(2027, 3, n), "GTIN": GTIN, "Size": n}
        for n in (1, 2, 3)
    ]
    return write_workbook(SHELF, {"Shelf": rows})


def put_together_by_hand() -> bytes:
    return with_rows(
        line(2, A=typed("s", 0), C=text(GTIN), E=number(12), F=number("22.5")),
        line(4, B=text("L43"), G=text("yes"), H=text("left"), K=text("on top")),
        line(5, B=text("L44"), I=number("46477.354166667", style="moment"), C=number(int(GTIN))),
    )


BASES = (written_by_us, put_together_by_hand)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_damaged_workbooks_are_refused_or_read_right(batch: int, figures: Figures) -> None:
    bases = [base() for base in BASES]
    outcomes: Counter[str] = Counter()
    for seed in range(batch, RUNS, BATCHES):
        dice = random.Random(seed)
        mutation = MUTATIONS[seed // BATCHES % len(MUTATIONS)]
        data = mutation(dice.choice(bases), dice)
        reading, seconds, memory = measured(data)
        said = f"seed {seed}, {mutation.__name__}"
        assert seconds < MOST_SECONDS, said
        assert memory < MOST_MEMORY, said
        if reading.ok:
            assert_read_right(reading, data, said)
        for fault in reading.faults:
            assert str(fault).endswith("."), said
        outcomes["read" if reading.ok else "refused"] += 1
    figures("Hostile workbooks", mutations=outcomes.total(), **outcomes, read_wrong=0)
    assert outcomes["refused"] > outcomes["read"] > 0


def measured(data: bytes) -> tuple[Reading, float, int]:
    """The reading, the processor's seconds and the most memory it took."""
    tracemalloc.start()
    start = time.process_time()
    try:
        reading = read(data)
        return reading, time.process_time() - start, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def assert_read_right(reading: Reading, data: bytes, said: str) -> None:
    """Every row and every value is there, and none besides."""
    plain = read_plainly(data, "Shelf")
    expected = plain.by_header()
    assert [row.number for row in rows_of(reading)] == sorted(expected), said
    for row in rows_of(reading):
        cells = expected[row.number]
        stood = {column.name: cells.get(column.name.lower()) for column in COLUMNS}
        assert set(row.values) == {name for name, cell in stood.items() if cell}, said
        for column in COLUMNS:
            if cell := stood[column.name]:
                assert row.values[column.name] == meant(column, cell, plain), said


def meant(column: Column, cell: PlainCell, sheet: PlainSheet) -> Value:
    """What a cell that was accepted must mean."""
    said = unicodedata.normalize("NFC", cell.text.strip())
    match column.kind:
        case Kind.GTIN:
            return str(int(Decimal(said))).zfill(14)
        case Kind.WHOLE:
            return int(Decimal(said))
        case Kind.DECIMAL:
            return Decimal(said)
        case Kind.DATE:
            return sheet.day(cell)
        case Kind.MOMENT:
            return sheet.moment(cell)
        case Kind.YES_NO:
            return said.lower() in ("yes", "1")
        case Kind.CHOICE:
            return said.lower()
    assert cell.kind in ("s", "str", "inlineStr")
    return said


def test_the_second_reader_reads_what_was_written() -> None:
    reading = read(written_by_us())
    assert_read_right(reading, written_by_us(), "ours")
    assert_read_right(read(put_together_by_hand()), put_together_by_hand(), "by hand")


def test_the_second_reader_finds_a_wrong_reading() -> None:
    """Its twin: a reading of another file is found out."""
    other = with_rows(line(2, B=text("L9")))
    with pytest.raises(AssertionError):
        assert_read_right(read(put_together_by_hand()), other, "another file")
    with pytest.raises(AssertionError):
        assert_read_right(read(with_rows(line(2))), other, "another lot")
