from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from scheduling.coverage.engine import decide
from scheduling.shelf.use_by import band_of, bands, short_dated
from tests.coverage_engine.build import box, scenario, wants

TODAY = date(2027, 3, 1)


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (-1, "past"),
        (0, "0 to 30"),
        (30, "0 to 30"),
        (31, "31 to 90"),
        (180, "91 to 180"),
        (365, "181 to 365"),
        (366, "over 365"),
        (None, "no date"),
    ],
)
def test_the_bands_use_by_inclusive(days: int | None, words: str) -> None:
    assert band_of(None if days is None else TODAY + timedelta(days=days), TODAY) == words


def test_every_box_that_is_here_stands_in_one_band_by_its_owner() -> None:
    given = scenario(
        box("U1", "STEM-12", expiry=TODAY),
        replace(box("U2", "STEM-12", expiry=TODAY), owner="consignment"),
        box("U3", "STEM-12"),
        box("U4", "STEM-12", hold="dropped"),
        box("U5", "STEM-12", arrives="Tue 12:00"),
    )
    found = {band.words: band.by_owner for band in bands(given, decide(given)) if band.boxes}
    assert found == {"0 to 30": [1, 1, 0], "no date": [1, 0, 0]}


def test_short_dated_boxes_and_the_next_booked_use_of_each() -> None:
    given = scenario(
        box("U1", "STEM-12", expiry=TODAY + timedelta(days=89)),
        box("U2", "STEM-12", expiry=TODAY + timedelta(days=10)),
        box("U3", "STEM-12", expiry=TODAY + timedelta(days=90)),
        wants("C1", "Tue 08:00", planned="STEM-12"),
    )
    dated = short_dated(given, decide(given), 90)
    assert [(each.unit.code, each.days) for each in dated] == [("U2", 10), ("U1", 89)]
    assert [each.promise.case if each.promise else None for each in dated] == ["C1", None]
