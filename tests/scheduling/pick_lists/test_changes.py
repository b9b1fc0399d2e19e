from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from scheduling.coverage.report import Verdict
from scheduling.pick_lists.changes import Change, changes
from tests.scheduling.pick_lists.samples import ABSENT, START, box, content, section, tray


def said(old, new):
    return [difference.in_words() for difference in changes(old, new)]


def test_the_same_list_has_no_changes():
    of = content(section(boxes=(box(),), trays=(tray(),), absent=(ABSENT,)))
    assert changes(of, of) == ()


def test_another_box_of_the_same_item_is_a_replacement():
    old = content(section(boxes=(box("U1", lot="LX"),)))
    new = content(section(boxes=(box("U2", lot="LY", serial="7"),)))
    assert said(old, new) == [
        "Case C-1: ST-12H-225 (size 12, HIGH offset, 225 mm), LOT LX, box U1 replaced by "
        "LOT LY, SN 7, box U2"
    ]
    assert changes(old, new)[0].change is Change.REPLACED


def test_another_tray_of_the_same_configuration_is_a_replacement():
    old = content(section(trays=(tray("BASE/1"),)))
    new = content(section(trays=(tray("BASE/2"),)))
    assert said(old, new) == ["Case C-1: tray of BASE, BASE/1 replaced by BASE/2"]


def test_added_and_taken_off():
    old = content(section(boxes=(box("U1"), box("U2", item="HEAD", words="Ø 36 mm"))))
    new = content(section(boxes=(box("U1"), box("U3", item="LINER", words="group E"))))
    assert said(old, new) == [
        "Case C-1: LINER (group E), LOT LA1, box U3, added",
        "Case C-1: HEAD (Ø 36 mm), LOT LA1, box U2, taken off",
    ]


def test_one_replaced_and_one_more_taken_off():
    old = content(section(boxes=(box("U1"), box("U2"))))
    new = content(section(boxes=(box("U3"),)))
    assert [each.change for each in changes(old, new)] == [Change.REPLACED, Change.TAKEN_OFF]


def test_a_line_that_says_something_else_now():
    old = content(section(boxes=(box(location="Shelf A-2"),)))
    new = content(section(boxes=(box(location="Shelf B-1", use_by=date(2027, 1, 31)),)))
    assert said(old, new) == [
        "Case C-1: ST-12H-225 (size 12, HIGH offset, 225 mm), LOT LA1, box U1: location was "
        "Shelf A-2, is Shelf B-1",
        "Case C-1: ST-12H-225 (size 12, HIGH offset, 225 mm), LOT LA1, box U1: use by was "
        "2028-07-31, is 2027-01-31",
    ]


def test_the_case_itself():
    old = section()
    later = START + timedelta(hours=2)
    new = replace(old, start=later, needed_by=later, verdict=Verdict.AT_RISK, side="right")
    assert said(content(old), content(new)) == [
        "Case C-1: the verdict was covered, is at risk",
        "Case C-1: the start was Tue 9 March 2027, 08:30, is Tue 9 March 2027, 10:30",
        "Case C-1: the time it is needed by was Tue 9 March 2027, 07:30, is "
        "Tue 9 March 2027, 10:30",
        "Case C-1: the side was left, is right",
    ]


def test_what_is_not_to_hand():
    with_it, without = content(section()), content(section(absent=(ABSENT,)))
    words = "1 × Reamer, Ø 14 mm, planned: short (missing from ADD/2)"
    assert said(with_it, without) == [f"Case C-1: {words}, not to hand"]
    assert said(without, with_it) == [f"Case C-1: {words}, no longer missing"]


def test_cases_of_a_day_come_and_go():
    old = content(section("C-1"), section("C-2"))
    new = content(section("C-2"), section("C-3"))
    assert said(old, new) == ["Case C-1: taken off", "Case C-3: added"]
