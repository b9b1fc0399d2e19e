from __future__ import annotations

from datetime import date

import pytest

from implants.udi import read_scan
from scheduling.pick_lists.links import (
    ALPHABET,
    HouseCode,
    ListCode,
    box_link,
    list_link,
    own_code,
    tray_link,
)

ADDRESS = "https://muster.ottermere.example"
TODAY = date(2027, 3, 1)


def test_a_box_carries_its_identity():
    link = box_link(ADDRESS, unit="U1", gtin="02000000000015", lot="La+1", serial="0012")
    read = read_scan(link, today=TODAY)
    assert (read.gtin, read.lot, read.serial) == ("02000000000015", "La+1", "0012")
    assert link.startswith("HTTPS://MUSTER.OTTERMERE.EXAMPLE/01/")


@pytest.mark.parametrize(
    ("gtin", "lot"),
    [
        ("", "LA1"),
        ("02000000000016", "LA1"),  # wrong check digit
        ("02000000000015", "L A#1"),  # characters outside GS1's set
        ("02000000000015", "LA/1"),  # a web server could not take it apart again
    ],
)
def test_a_box_without_a_good_identity_carries_the_houses_own_code(gtin, lot):
    link = box_link(ADDRESS, unit="U 1/2", gtin=gtin, lot=lot, serial="")
    assert link == "HTTPS://MUSTER.OTTERMERE.EXAMPLE/u/U%201%2F2"
    assert own_code(link) == HouseCode("U 1/2")


def test_a_tray_carries_its_asset():
    link = tray_link(ADDRESS, tray="BASE/1", asset="0299999BASE1")
    assert read_scan(link, today=TODAY).giai == "0299999BASE1"
    assert own_code(tray_link(ADDRESS, tray="BASE/1", asset="no asset")) == HouseCode("BASE/1")


@pytest.mark.parametrize(
    "text",
    [
        "HTTPS://MUSTER.OTTERMERE.EXAMPLE/l/K7QM4F/12/",
        "https://muster.ottermere.example/L/k7qm4f/12",
        " http://127.0.0.1:8000/stem/l/K7QM4F/12/ ",
        list_link(ADDRESS, "K7QM4F", 12),
    ],
)
def test_a_list_is_read_however_it_was_typed(text):
    assert own_code(text) == ListCode("K7QM4F", 12)


@pytest.mark.parametrize(
    "text", ["", "K7QM4F", "https://host/l/K7QM4F/", "https://host/01/02000000000015/10/l/1/"]
)
def test_other_texts_are_not_ours(text):
    assert own_code(text) is None


def test_codes_hold_nothing_that_is_read_as_something_else():
    assert not set("0O1I") & set(ALPHABET)
    assert len(set(ALPHABET)) == len(ALPHABET) == 32
