"""A loan is checked in: trays line by line, boxes by scan against the delivery note."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from implants.models import Arrival, ShelfSettings, Unit
from implants.operations.holds import recall
from implants.receiving.words import Word
from scheduling.operations.loans.arriving import (
    Looked,
    check_in_tray,
    end_check_in,
    loan_arrived,
    put_in_place,
    scan_in_box,
)
from scheduling.operations.loans.asking import Lent, add_to_loan
from tests import factories
from tests.factories import NOW
from tests.implants.labels import label
from tests.scheduling.loans.conftest import DUE, OTHER_GTIN, PLACE, refuses
from trays.models import MissingLine, Tray
from trays.operations.bench import take_tray_to
from trays.operations.holds import lift_by_name
from trays.stages import Stage

SOUND = Looked(is_sound=True, certificate="C-17", has_instructions=True, weight_grams=9000)


def forecast(tray, stage):
    return NOW + timedelta(hours=6)


@pytest.fixture
def loan(lender):
    return lender.arrived()


def scan(loan, text, lender, **more):
    return scan_in_box(loan=loan, text=text, **lender.who, **more)


def test_what_has_arrived_is_awaited_until_its_check_in_is_due(lender, loan):
    # Two hours of opening time for the check-in, from the next whole minute.
    due = NOW + timedelta(hours=2, minutes=1)
    assert (loan.state, loan.delivery_note, loan.expected_at) == ("arrived", "DN 771", due)
    tray = Tray.objects.get()
    assert (tray.stage, tray.ready_at, tray.expected_at) == (Stage.WITH_SUPPLIER, None, due)
    assert set(Unit.objects.values_list("state", "expected_at")) == {("awaited", due)}


def test_a_tray_that_is_as_it_should_be_begins_the_whole_cycle(lender, loan):
    line = loan.trays.get()
    tray = check_in_tray(line=line, looked=SOUND, **lender.who)
    # Its turnaround, six hours, is ahead of it: it is nowhere near ready.
    assert (tray.stage, tray.ready_at) == (Stage.CLEANING, NOW + timedelta(hours=6))
    line.refresh_from_db()
    assert (line.certificate, line.has_instructions, line.checked_by) == (
        "C-17",
        True,
        lender.by.user,
    )
    with refuses("not_here"):
        take_tray_to(tray=tray, stage=Stage.STERILE_STORE, forecast=forecast, **lender.who)


def test_what_it_lacks_is_missing_from_that_tray(lender, loan):
    looked = Looked(True, "C-17", True, missing={"REAM-12": 1, "HANDLE": 0})
    check_in_tray(line=loan.trays.get(), looked=looked, **lender.who)
    assert [(one.instrument.ref, one.quantity) for one in MissingLine.objects.all()] == [
        ("REAM-12", 1)
    ]


@pytest.mark.parametrize(
    ("looked", "why"),
    [
        (Looked(True, "", True), "loan: no certificate of decontamination"),
        (Looked(True, "C-17", False), "loan: no instructions for reprocessing"),
        (Looked(False, "C-17", True, note="lid bent"), "loan: not sound (lid bent)"),
        (
            Looked(False),
            "loan: not sound, no certificate of decontamination, no instructions for reprocessing",
        ),
    ],
)
def test_what_is_wrong_with_it_keeps_it_in_quarantine(lender, loan, looked, why):
    tray = check_in_tray(line=loan.trays.get(), looked=looked, **lender.who)
    assert (tray.stage, tray.ready_at) == (Stage.QUARANTINE, None)
    (hold,) = tray.holds.filter(lifted_at=None)
    assert why.startswith(hold.note)
    # The certificate came by mail: a named person lifts it, and the whole cycle begins.
    lifted = lift_by_name(tray=tray, note="came by mail", forecast=forecast, **lender.who)
    assert lifted.stage == Stage.CLEANING


def test_the_same_tray_is_checked_in_once(lender, loan):
    line = loan.trays.get()
    check_in_tray(line=line, looked=SOUND, **lender.who)
    with refuses("tray_checked_in"):
        check_in_tray(line=line, looked=SOUND, **lender.who)


@pytest.mark.parametrize(
    ("missing", "code"), [({"REAM-12": 3}, "count_too_many"), ({"SAW": 1}, "not_on_sheet")]
)
def test_no_more_is_missing_than_the_count_sheet_has(lender, loan, missing, code):
    with refuses(code):
        check_in_tray(
            line=loan.trays.get(), looked=Looked(True, "C", True, missing=missing), **lender.who
        )
    assert Tray.objects.get().stage == Stage.WITH_SUPPLIER


def test_the_tag_that_it_carries_is_kept(lender, loan):
    looked = Looked(True, "C-17", True, asset="0288888EX9")
    check_in_tray(line=loan.trays.get(), looked=looked, **lender.who)
    assert Tray.objects.get().asset == "0288888EX9"


def test_ten_boxes_take_ten_scans(lender, loan):
    """The next box says that the one before is as it should be; the last one goes by its place."""
    for number in range(10):
        answer = scan(loan, label(lot=f"L{number}", serial=str(number)), lender)
        assert answer.word is Word.CHECK_BOX
    assert put_in_place(loan=loan, **lender.who).word is Word.RECEIVED
    boxes = Unit.objects.filter(implant=lender.twelve)
    assert set(boxes.values_list("state", "location", "owner", "expiry")) == {
        ("on the shelf", PLACE, "loan", date(2031, 12, 31))
    }
    assert {unit.code for unit in boxes} == {f"L-0001/B{number}" for number in range(1, 11)}


def test_an_eleventh_box_of_ten_is_not_on_the_note(lender):
    loan = lender.arrived(twelve=1)
    scan(loan, label(serial="1"), lender)
    answer = scan(loan, label(serial="2"), lender)
    assert (answer.word, answer.code) == (Word.STOP, "not on the note")
    assert Unit.objects.filter(implant=lender.twelve, state="on the shelf").count() == 1
    # It is to stay: it is put on the note, and scanned again.
    add_to_loan(loan=loan, lent=Lent(boxes={lender.twelve: 1}), **lender.who)
    assert scan(loan, label(serial="2"), lender).word is Word.CHECK_BOX


def test_a_box_of_no_line_is_not_taken_in(lender, loan, site):
    factories.implant(site, "HEAD-36", "head")
    assert scan(loan, "HEAD-36 L1", lender).code == "not on the note"
    assert not Arrival.objects.exists()


def test_a_box_of_the_loan_is_none_of_an_order_that_is_due_earlier(lender, loan):
    ordered = factories.unit(lender.twelve, "O-1/1", expected_at=NOW + timedelta(minutes=5))
    scan(loan, label(), lender)
    put_in_place(loan=loan, **lender.who)
    ordered.refresh_from_db()
    assert ordered.state == "awaited"
    assert Unit.objects.get(serial="7").code.startswith("L-0001/")


def test_a_recalled_or_short_dated_box_goes_to_quarantine(lender, loan):
    ShelfSettings.objects.create(site=lender.by.site, least_days_left=30)
    old = factories.unit(lender.thirteen, "OLD", lot="BAD")
    recall(units=[old], reason="notice 7", **lender.who)
    assert scan(loan, label(use_by="270310"), lender).code == "short-dated"
    assert scan(loan, label(lot="BAD", serial="8", gtin=OTHER_GTIN), lender).code == "recalled"
    assert sorted(Unit.objects.exclude(hold="").values_list("state", flat=True)) == [
        "quarantine",
        "recalled",
        "recalled",
    ]


def test_the_boxes_go_where_a_place_was_scanned_last(lender, loan, site):
    factories.unit(lender.thirteen, "OLD", location="Store A-02")
    assert "Store A-02" in scan(loan, "Store A-02", lender).read
    scan(loan, label(), lender)
    put_in_place(loan=type(loan).objects.get(), **lender.who)
    assert Unit.objects.get(serial="7").location == "Store A-02"


def test_what_did_not_come_is_awaited_no_more(lender, loan):
    scan(loan, label(), lender)
    with refuses("box_in_hand"):
        end_check_in(loan=loan, **lender.who)
    put_in_place(loan=loan, **lender.who)
    ended = end_check_in(loan=loan, **lender.who)
    assert (ended.state, ended.movements.last().reason) == (
        "checked in",
        "1 tray and 10 boxes did not come",
    )
    assert {line.implant.ref: line.not_delivered for line in loan.lines.all()} == {
        "STEM-12": 9,
        "STEM-13": 1,
    }
    assert not Unit.objects.filter(state="awaited").exists()
    tray = Tray.objects.get()
    assert (tray.stage, tray.expected_at) == (Stage.WITH_SUPPLIER, None)


def test_boxes_need_a_place_before_they_come_in(lender):
    promised = lender.promised()
    with refuses("place_unusable"):
        loan_arrived(loan=promised, delivery_note="", place=" ", **lender.who)
    assert type(promised).objects.get().expected_at == DUE
