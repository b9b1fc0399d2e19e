"""The rule of a scan, on values alone: at the least one case for every answer and reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from scheduling.coverage.values import Need
from scheduling.models.pick_list import ScanAnswer
from scheduling.pick_lists.match import match
from scheduling.pick_lists.scan_values import (
    Asked,
    AskedLine,
    BoxRead,
    BoxState,
    Item,
    TrayRead,
    TrayState,
    Unreadable,
    Word,
)
from scheduling.pick_lists.scan_words import TITLES, WHAT_TO_DO

NOW = datetime(2027, 3, 9, 7, 0, tzinfo=ZoneInfo("Europe/London"))
END = NOW + timedelta(hours=4)
STEM = Item("ST-12H", "stem", {"system": "A", "size": 12, "offset": "high", "length": 225})
OTHER_SIZE = Item("ST-13H", "stem", {**STEM.attributes, "size": 13})
OTHER_OFFSET = Item("ST-12S", "stem", {**STEM.attributes, "offset": "standard"})
OTHER_LENGTH = Item("ST-12L", "stem", {**STEM.attributes, "length": 265})
HEAD = Item("HD-36", "head", {"diameter": 36})
LEFT = Item("LN-L", "liner", {"side": "left"})
RIGHT = Item("LN-R", "liner", {"side": "right"})
BOX = BoxState("U1", STEM, lot="LX", serial="1", expiry=date(2028, 1, 31))


def line(number: int = 1, box: BoxState | None = BOX, **values: Any) -> AskedLine:
    given: dict[str, Any] = {"case": "C-1", "need": Need.PLANNED, "end": END}
    return AskedLine(number, box=box, **given | values)


def asked(*lines: AskedLine, boxes: tuple[BoxState, ...] = (), **values: Any) -> Asked:
    listed = tuple(each.box for each in lines if each.box)
    given: dict[str, Any] = {"code": "K7QM4F", "number": 1, "newest": 1}
    return Asked(lines=lines, boxes=listed + boxes, **given | values)


def label(box: BoxState = BOX, **values: Any) -> BoxRead:
    given: dict[str, Any] = {
        "item": box.item,
        "lot": box.lot,
        "serial": box.serial,
        "expiry": box.expiry,
    }
    return BoxRead(f"GTIN of {box.item.ref}", **given | values)


def answer(read, *lines: AskedLine, **values: Any):
    return match(read, asked(*lines, **values), now=NOW)


def told(read, *lines: AskedLine, **values: Any) -> tuple[str, str, str]:
    """(reason, what the list asks, what was read) of a STOP."""
    given = answer(read, *lines, **values)
    assert given.word is Word.STOP
    return given.code, given.asked, given.read


def test_the_words_are_those_of_the_record():
    assert {word.value for word in Word} == set(ScanAnswer.values)


class TestTheList:
    def test_replaced_by_a_newer_version(self):
        assert told(label(), line(), newest=3) == (
            "list replaced",
            "version 3 of list K7QM4F, the newest",
            "version 1",
        )

    def test_unreadable_says_what_was_read_and_why(self):
        given = answer(Unreadable("%&/", "The code is damaged."), line())
        assert (given.word, given.code, given.read, given.note) == (
            Word.STOP,
            "unreadable",
            "%&/",
            "The code is damaged.",
        )

    def test_a_case_that_is_over(self):
        assert told(label(), line(is_over=True))[0] == "case is over"

    def test_an_empty_list(self):
        assert told(label())[0] == "case is over"


class TestBox:
    def test_matches(self):
        given = answer(label(), line(7))
        assert (given.word, given.line) == (Word.MATCHES_LIST, 7)
        assert given.read == "stem, size 12, HIGH offset, 225 mm, LOT LX, SN 1, box U1"

    def test_the_same_box_again_is_harmless(self):
        given = answer(label(), line(7, ticked=True))
        assert (given.word, given.line) == (Word.ALREADY_SCANNED, 7)

    def test_by_the_houses_own_code(self):
        twin = replace(BOX, code="U2")
        given = answer(label(code="U2"), line(1), line(2, twin))
        assert given.line == 2

    def test_a_label_with_lot_only_matches_a_box_with_a_serial(self):
        assert answer(label(serial="", expiry=None), line()).word is Word.MATCHES_LIST

    def test_a_box_without_lot_and_serial_on_record(self):
        bare = replace(BOX, lot="", serial="")
        assert answer(label(bare), line(box=bare)).word is Word.MATCHES_LIST
        assert told(label(lot="LX", serial=""), line(box=bare))[0] == "other lot"

    def test_two_equal_boxes_tick_two_lines_one_after_the_other(self):
        one, two = replace(BOX, serial=""), replace(BOX, code="U2", serial="")
        read = label(one)
        first = answer(read, line(1, one), line(2, two))
        second = answer(read, line(1, one, ticked=True), line(2, two))
        third = answer(read, line(1, one, ticked=True), line(2, two, ticked=True))
        assert [first.line, second.line] == [1, 2]
        assert second.note == "Box 2 of 2 with this REF and LOT: count the boxes."
        assert third.word is Word.ALREADY_SCANNED

    def test_two_boxes_of_a_lot_with_serials_are_told_apart(self):
        two = replace(BOX, code="U2", serial="2")
        assert answer(label(two), line(1), line(2, two)).line == 2

    @pytest.mark.parametrize(
        ("item", "code"),
        [
            (OTHER_SIZE, "other size"),
            (OTHER_OFFSET, "other offset"),
            (OTHER_LENGTH, "other item"),
        ],
    )
    def test_another_item_says_first_what_differs(self, item, code):
        said, wanted, got = told(label(item=item), line())
        assert said == code
        assert wanted.startswith("stem, size 12, HIGH offset, 225 mm")
        assert got.startswith(item.in_words())

    def test_another_side(self):
        box = BoxState("U5", LEFT, lot="L")
        assert told(label(box, item=RIGHT), line(box=box)) == (
            "other side",
            "liner, LEFT",
            "liner, RIGHT",
        )

    def test_the_nearest_open_line_is_shown(self):
        near = line(2, replace(BOX, code="U2", item=OTHER_SIZE))
        far = line(1, replace(BOX, code="U1", item=OTHER_LENGTH))
        wanted = Item("ST-13S", "stem", {**OTHER_SIZE.attributes, "offset": "standard"})
        assert told(label(item=wanted), far, near)[1] == OTHER_SIZE.in_words()

    def test_a_role_that_the_list_does_not_ask(self):
        assert told(label(item=HEAD), line()) == ("not on this list", "stem", "head, Ø 36 mm")

    def test_an_item_that_the_catalogue_lacks(self):
        assert told(BoxRead("GTIN 1"), line())[2] == "GTIN 1"

    def test_another_lot(self):
        assert told(label(lot="LY", serial=""), line()) == (
            "other lot",
            "LOT LX, SN 1, box U1",
            "LOT LY",
        )

    def test_lots_are_case_sensitive(self):
        assert told(label(lot="lx", serial=""), line())[0] == "other lot"

    def test_another_serial_of_the_lot(self):
        assert told(label(serial="9"), line()) == (
            "other serial",
            "LOT LX, SN 1, box U1",
            "LOT LX, SN 9",
        )

    def test_a_label_without_lot(self):
        assert told(label(lot="", serial=""), line())[0] == "lot not read"

    def test_a_box_that_is_reserved_for_another_case(self):
        other = replace(BOX, code="U9", lot="L9", serial="9", promised_to="C-2")
        assert told(label(other), line(), boxes=(other,)) == (
            "promised to another case",
            "LOT LX, SN 1, box U1 for case C-1",
            "LOT L9, SN 9, box U9, reserved for case C-2",
        )

    def test_a_listed_box_that_was_reserved_for_another_case_since(self):
        assert told(label(), line(box=replace(BOX, promised_to="C-2")))[0] == (
            "promised to another case"
        )

    def test_a_listed_box_that_is_reserved_for_its_own_case(self):
        assert answer(label(), line(box=replace(BOX, promised_to="C-1"))).word is Word.MATCHES_LIST

    @pytest.mark.parametrize("ticked", [False, True])
    def test_on_hold_even_after_it_was_ticked(self, ticked):
        held = replace(BOX, hold="recalled: lot LX")
        assert told(label(), line(box=held, ticked=ticked)) == (
            "on hold",
            "a box that is free",
            "LOT LX, SN 1, box U1, on hold: recalled: lot LX",
        )

    def test_a_box_off_the_list_on_hold(self):
        held = replace(BOX, code="U9", lot="L9", serial="9", hold="quarantined")
        assert told(label(held), line(), boxes=(held,))[0] == "on hold"

    def test_a_twin_on_hold_is_told_of(self):
        mine, twin = replace(BOX, serial=""), replace(BOX, code="U9", serial="", hold="dropped")
        given = answer(label(mine), line(box=mine), boxes=(twin,))
        assert given.word is Word.MATCHES_LIST
        assert "Box U9 has the same REF and LOT and is on hold (dropped)" in given.note

    def test_use_by_is_inclusive(self):
        today = replace(BOX, expiry=NOW.date())
        assert answer(label(today), line(box=today)).word is Word.MATCHES_LIST

    def test_expired_yesterday(self):
        old = replace(BOX, expiry=NOW.date() - timedelta(days=1))
        assert told(label(old), line(box=old)) == (
            "expired",
            "use by 9 Mar 2027 or later",
            "use by 8 Mar 2027",
        )

    def test_an_expired_label_of_an_item_that_is_not_asked_is_expired_first(self):
        assert told(label(item=HEAD, expiry=date(2026, 1, 1)), line())[0] == "expired"

    def test_in_date_today_and_not_on_the_day_of_the_case(self):
        box = replace(BOX, expiry=NOW.date())
        assert told(label(box), line(box=box, end=END + timedelta(days=1))) == (
            "expires before the case",
            "use by 10 Mar 2027 or later, for case C-1",
            "use by 9 Mar 2027",
        )

    def test_the_label_states_another_date_than_the_record(self):
        assert told(label(expiry=date(2028, 2, 29)), line()) == (
            "other use-by date",
            "use by 31 Jan 2028",
            "use by 29 Feb 2028",
        )

    def test_a_box_whose_receipt_is_not_recorded(self):
        assert told(label(), line(box=replace(BOX, awaited=True)))[0] == "receipt not recorded"

    def test_a_case_that_is_over_is_not_ticked_on_a_days_list(self):
        over, open_ = line(1, is_over=True), line(2, replace(BOX, code="U2", lot="L2"), case="C-2")
        assert told(label(), over, open_)[0] == "other lot"


TRAY = TrayState("BASE/1", "BASE")


def tray_line(number: int = 1, tray: TrayState = TRAY, **values: Any) -> AskedLine:
    return line(number, None, tray=tray, **values)


class TestTray:
    def told(self, tray: TrayState = TRAY, *lines: AskedLine, code: str = "BASE/1"):
        lines = lines or (tray_line(tray=tray),)
        return told(TrayRead(f"tray {code}", code, "BASE"), *lines, trays=(tray,))

    def test_matches_and_is_harmless_twice(self):
        read = TrayRead("tray BASE/1", "BASE/1", "BASE")
        assert answer(read, tray_line(3), trays=(TRAY,)).word is Word.MATCHES_LIST
        again = answer(read, tray_line(3, ticked=True), trays=(TRAY,))
        assert (again.word, again.line) == (Word.ALREADY_SCANNED, 3)

    def test_unknown(self):
        assert told(TrayRead("asset 99"), tray_line()) == (
            "unknown tray",
            "a tray of this site",
            "asset 99",
        )

    def test_another_tray_of_the_configuration(self):
        other = TrayState("BASE/2", "BASE", promised_to=("C-7",))
        assert self.told(other, tray_line(), code="BASE/2") == (
            "other tray",
            "tray BASE/1",
            "tray BASE/2, reserved for case C-7",
        )

    def test_a_tray_of_another_configuration(self):
        other = TrayState("ADD/2", "ADD")
        assert self.told(other, tray_line(), code="ADD/2")[:2] == (
            "not on this list",
            "tray BASE/1",
        )

    def test_on_hold(self):
        assert self.told(replace(TRAY, hold="quarantine"))[0] == "tray on hold"

    def test_still_in_reprocessing(self):
        assert self.told(replace(TRAY, unready="sterilising")) == (
            "tray not ready",
            "a sterile tray",
            "tray BASE/1: sterilising",
        )

    def test_ready_later(self):
        later = NOW + timedelta(minutes=1)
        assert self.told(replace(TRAY, ready_at=later))[0] == "tray not ready"
        read = TrayRead("tray BASE/1", "BASE/1", "BASE")
        now = replace(TRAY, ready_at=NOW)
        assert answer(read, tray_line(tray=now), trays=(now,)).word is Word.MATCHES_LIST

    def test_sterile_until_before_the_end_of_the_case(self):
        until = replace(TRAY, sterile_until=END - timedelta(minutes=1))
        assert self.told(until)[0] == "sterile date is over"
        read = TrayRead("tray BASE/1", "BASE/1", "BASE")
        just = replace(TRAY, sterile_until=END)
        assert answer(read, tray_line(tray=just), trays=(just,)).word is Word.MATCHES_LIST

    def test_lacks_an_instrument_that_the_case_counts_on(self):
        assert self.told(TRAY, tray_line(lacking=("REAM-14",))) == (
            "lacks an instrument",
            "tray BASE/1 with REAM-14",
            "tray BASE/1 without REAM-14",
        )

    def test_the_second_case_of_the_day_waits_for_its_own_scan(self):
        read = TrayRead("tray BASE/1", "BASE/1", "BASE")
        first, second = tray_line(1, ticked=True), tray_line(2, case="C-2")
        assert answer(read, first, second, trays=(TRAY,)).word is Word.ALREADY_SCANNED
        done = replace(first, is_over=True)
        assert answer(read, done, second, trays=(TRAY,)).line == 2


def test_every_reason_has_a_title_and_says_what_to_do():
    stops = set(TITLES) - {"matches", "already scanned", "taken again"}
    assert stops == set(WHAT_TO_DO)
    assert all(TITLES[code] for code in stops)
    for text in (*TITLES.values(), *WHAT_TO_DO.values()):
        assert "OK" not in text
        assert "compatible" not in text.lower()
