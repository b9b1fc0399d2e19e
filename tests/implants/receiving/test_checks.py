"""What keeps a box from the shelf, on values alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from implants.receiving.checks import BoxRead, Finding, Known, findings
from implants.receiving.words import ASIDE, KINDS, REASONS, TITLES, WHAT_TO_DO, Word

TODAY = date(2027, 3, 1)
BOX = BoxRead(ref="STEM-12", lot="L1", serial="7", expiry=date(2031, 12, 31))
KNOWN = Known(today=TODAY, least_days_left=90)


def codes(box: BoxRead = BOX, known: Known = KNOWN) -> list[str]:
    return [found.code for found in findings(box, known)]


def test_a_box_with_nothing_against_it():
    assert codes() == []
    assert codes(replace(BOX, expiry=None, quantity=1, ref_on_label="stem 12")) == []


@pytest.mark.parametrize(
    ("days", "expected"),
    [(-1, ["expired"]), (0, ["short-dated"]), (89, ["short-dated"]), (90, []), (91, [])],
)
def test_use_by_is_inclusive_and_the_houses_minimum_is_kept(days, expected):
    assert codes(replace(BOX, expiry=TODAY + timedelta(days=days))) == expected


def test_without_a_minimum_a_box_may_be_in_its_last_day():
    assert codes(replace(BOX, expiry=TODAY), replace(KNOWN, least_days_left=0)) == []


def test_both_values_are_said():
    (found,) = findings(replace(BOX, expiry=date(2027, 4, 1)), KNOWN)
    assert found == Finding("short-dated", "use by 30 May 2027 or later", "use by 01 Apr 2027")


def test_a_recalled_lot():
    (found,) = findings(BOX, replace(KNOWN, recalled="field notice 7"))
    assert (found.code, found.read) == ("recalled", "LOT L1: field notice 7")


def test_another_ref_of_the_maker_on_the_label():
    assert codes(replace(BOX, ref_on_label="STEM-13")) == ["other REF"]


def test_the_label_of_a_larger_pack():
    assert codes(replace(BOX, quantity=5)) == ["pack"]


def test_all_at_once_the_gravest_first():
    box = replace(BOX, expiry=TODAY - timedelta(days=1), ref_on_label="X", quantity=2)
    assert codes(box, replace(KNOWN, recalled="r")) == ["recalled", "other REF", "pack", "expired"]


def test_every_finding_has_its_words():
    found = {"recalled", "other REF", "pack", "expired", "short-dated"}
    by_eye = {"packaging", "label differs"}
    assert found | by_eye <= set(TITLES)
    assert set(WHAT_TO_DO) == set(TITLES)
    assert (found | by_eye) - set(ASIDE) <= set(REASONS)
    assert set(KINDS) == set(Word)
