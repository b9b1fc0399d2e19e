"""The receiving bench: what each scan does to the shelf, and what it answers."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from implants.errors import ArrivalRefused
from implants.models import Arrival, LabelCode, ShelfSettings, Unit
from implants.operations.bench import (
    arrival_in_hand,
    refuse_at_bench,
    say_use_by,
    scan_at_bench,
    set_aside,
)
from implants.operations.holds import recall
from implants.operations.theatre import record_implanted
from implants.operations.unknown_boxes import link_to_catalogue, refuse_unknown
from implants.receiving.words import Word
from tests import factories
from tests.factories import NOW
from tests.implants.labels import GTIN, label, stem

PLACE = "Store A-01"


@pytest.fixture
def who(coordinator):
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def implant(site):
    implant = stem(site)
    factories.unit(implant, "STEM-12/1", lot="OLD", serial="1", location=PLACE)
    return implant


def scan(text, who, **more):
    return scan_at_bench(text=text, **who, **more)


def only_new() -> Unit:
    return Unit.objects.exclude(code="STEM-12/1").get()


def test_a_box_is_received_with_its_place(implant, who):
    answer = scan(label(), who)
    assert (answer.word, answer.arrival.outcome) == (Word.CHECK_BOX, "to be put away")
    assert Unit.objects.count() == 1, "nothing is received before it was looked at"
    answer = scan(PLACE, who)
    assert (answer.word, answer.note) == (Word.RECEIVED, PLACE)
    unit = only_new()
    assert (unit.code, unit.lot, unit.serial) == ("B000001", "L1", "7")
    assert (unit.expiry, unit.state, unit.location) == (date(2031, 12, 31), "on the shelf", PLACE)
    assert [str(one.move) for one in unit.movements.all()] == [
        "receive: new → on the shelf",
        "put away: on the shelf → on the shelf",
    ]
    assert {one.by for one in unit.movements.all()} == {who["by"].user}
    arrival = Arrival.objects.get()
    assert (arrival.outcome, arrival.unit, arrival.ended_by) == ("received", unit, who["by"].user)


def test_the_same_scan_twice_is_harmless(implant, who):
    for _ in range(2):
        assert scan(label(), who).word is Word.CHECK_BOX
    assert Arrival.objects.count() == 1
    scan(PLACE, who)
    again = scan(label(), who)
    assert (again.word, again.read) == (
        Word.ALREADY_HERE,
        f"Box B000001: on the shelf, {PLACE}",
    )
    assert Unit.objects.count() == 2


def test_one_more_of_a_lot_without_serials_is_asked_and_received(implant, who):
    for number in (2, 3):
        assert scan(label(serial=""), who).word is Word.CHECK_BOX
        assert scan(PLACE, who).word is Word.RECEIVED
        assert Unit.objects.filter(lot="L1").count() == number - 1


class TestAwaited:
    def test_takes_what_the_label_says(self, implant, who):
        awaited = factories.unit(
            implant, "ORDERED", expected_at=NOW - timedelta(days=1), owner="consignment"
        )
        answer = scan(label(), who)
        assert answer.arrival.unit == awaited
        scan(PLACE, who)
        awaited.refresh_from_db()
        assert (awaited.state, awaited.lot, awaited.serial) == ("on the shelf", "L1", "7")
        assert (awaited.expected_at, awaited.owner) == (None, "consignment")
        assert Unit.objects.count() == 2

    def test_the_same_serial_comes_before_the_same_lot_before_the_first_due(self, implant, who):
        for days, code, lot, serial in (
            (1, "FIRST", "", ""),
            (2, "LOT", "L1", ""),
            (3, "SERIAL", "L1", "7"),
            (0, "OTHER", "L1", "8"),
        ):
            due = NOW + timedelta(days=days)
            factories.unit(implant, code, expected_at=due, lot=lot, serial=serial)
        for expected, serial in (("SERIAL", "7"), ("LOT", "9"), ("FIRST", "10")):
            assert scan(label(serial=serial), who).arrival.unit.code == expected
            scan(PLACE, who)
        assert scan(label(serial="11"), who).arrival.unit is None

    def test_one_that_was_put_on_hold_on_its_way_stays_so(self, implant, who):
        factories.held(factories.unit(implant, "ORDERED", expected_at=NOW), "wrong lot")
        scan(label(), who)
        answer = scan(PLACE, who)
        assert (answer.word, answer.code) == (Word.STOP, "on hold")
        unit = Unit.objects.get(code="ORDERED")
        assert (unit.state, unit.expected_at) == ("quarantine", None)
        assert Arrival.objects.get().outcome == "in quarantine"


class TestStop:
    def quarantined(self, answer, code, reason):
        assert (answer.word, answer.code) == (Word.STOP, code)
        unit = only_new()
        assert (unit.state, unit.hold) == ("quarantine", reason)
        assert unit.location == "Quarantine shelf"
        assert unit.movements.get().station == "Receiving bench"
        assert Arrival.objects.get().outcome == "in quarantine"
        assert arrival_in_hand_is_empty()

    def test_short_dated_by_the_houses_own_minimum(self, implant, who, site):
        ShelfSettings.objects.create(site=site, least_days_left=200)
        answer = scan(label(use_by="270901"), who)
        assert (answer.asked, answer.read) == (
            "use by 17 Sep 2027 or later",
            "use by 01 Sep 2027",
        )
        self.quarantined(answer, "short-dated", "short-dated on arrival (use by 01 Sep 2027)")

    def test_expired(self, implant, who):
        answer = scan(label(use_by="270228"), who)
        self.quarantined(answer, "expired", "expired on arrival (use by 28 Feb 2027)")

    def test_packaging_not_intact(self, implant, who):
        arrival = scan(label(), who).arrival
        answer = refuse_at_bench(arrival=arrival, code="packaging", note="seal open", **who)
        self.quarantined(answer, "packaging", "packaging not intact: seal open")

    def test_label_differs(self, implant, who):
        arrival = scan(label(), who).arrival
        answer = refuse_at_bench(arrival=arrival, code="label differs", note="size 13", **who)
        self.quarantined(answer, "label differs", "label differs from the catalogue: size 13")

    def test_a_lot_of_which_boxes_are_recalled(self, implant, who):
        recall(units=Unit.objects.all(), reason="field notice 7", **who)
        answer = scan(label(lot="OLD"), who)
        assert (answer.word, answer.code) == (Word.STOP, "recalled")
        unit = only_new()
        assert (unit.state, unit.hold) == ("recalled", "field notice 7")

    def test_a_recall_that_came_while_the_box_was_in_hand(self, implant, who):
        scan(label(lot="OLD"), who)
        recall(units=Unit.objects.all(), reason="field notice 7", **who)
        assert scan(PLACE, who).code == "recalled"
        assert only_new().state == "recalled"

    def test_a_pack_is_not_one_box(self, implant, who):
        answer = scan(f"(01){GTIN}(10)L1(30)5", who)
        say = answer if answer.code else say_use_by(arrival=answer.arrival, expiry=None, **who)
        assert (say.word, say.code) == (Word.STOP, "pack")
        assert Unit.objects.count() == 1

    def test_what_is_recorded_as_implanted(self, implant, who):
        record_implanted(unit=implant.units.get(), case_ref="C1", **who)
        answer = scan(label(lot="OLD", serial="1"), who)
        assert (answer.word, answer.code) == (Word.STOP, "gone")
        assert answer.read == "STEM-12/1: implanted for case C1"
        assert Unit.objects.get().state == "implanted"

    @pytest.mark.parametrize("text", [PLACE, "nonsense", "]C18004BASE-2"])
    def test_what_is_no_box(self, implant, who, text):
        assert scan(text, who).word is Word.STOP
        assert not Arrival.objects.exists()

    def test_another_box_before_the_first_has_its_place(self, implant, who):
        first = scan(label(), who).arrival
        answer = scan(label(serial="8"), who)
        assert (answer.word, answer.code) == (Word.STOP, "place first")
        assert answer.read == "REF STEM-12, LOT L1, SN 8, use by 31 Dec 2031"
        assert Arrival.objects.get() == first


def arrival_in_hand_is_empty() -> bool:
    return not Arrival.objects.filter(outcome__in=["half read", "to be put away"]).exists()


class TestPlaces:
    def test_the_end_of_its_name_is_enough(self, implant, who):
        scan(label(), who)
        assert scan("a-01", who).note == PLACE

    def test_the_printed_code(self, implant, who):
        scan(label(), who)
        assert scan("HTTPS://OTTERMERE.EXAMPLE/p/Store%20A-01", who).note == PLACE

    def test_a_new_one_is_asked_once_more(self, implant, who):
        scan(label(), who)
        answer = scan("Store B-07", who)
        assert (answer.word, answer.code, answer.new_place) == (
            Word.STOP,
            "new place",
            "Store B-07",
        )
        assert scan("Store B-08", who, again="Store B-07").code == "new place"
        assert scan("Store B-08", who, again="Store B-08").note == "Store B-08"

    def test_a_damaged_code_is_no_place(self, implant, who):
        scan(label(), who)
        assert scan(label()[3:-2] + "?", who).code in ("unreadable", "place first")
        assert scan("0102345678901239", who).code == "unreadable"


class TestUseBy:
    def test_is_asked_where_the_code_has_none(self, implant, who):
        arrival = scan("STEM-12 L1", who).arrival
        assert not arrival.says_use_by
        assert scan(PLACE, who).code == "use by first"
        answer = say_use_by(arrival=arrival, expiry=date(2030, 1, 31), **who)
        assert answer.word is Word.CHECK_BOX
        scan(PLACE, who)
        assert only_new().expiry == date(2030, 1, 31)

    def test_is_checked_when_it_is_said(self, implant, who):
        arrival = scan("STEM-12 L1", who).arrival
        answer = say_use_by(arrival=arrival, expiry=date(2027, 1, 31), **who)
        assert answer.code == "expired"

    def test_of_the_same_lot_is_known(self, implant, who):
        assert scan("STEM-12 old", who).arrival.expiry == date(2031, 12, 31)

    def test_of_an_item_that_does_not_expire(self, site, who):
        screw = factories.implant(site, "SCREW", "screw")
        factories.unit(screw, "SCREW/1", lot="A", does_not_expire=True, location=PLACE)
        assert scan("SCREW B", who).arrival.does_not_expire


class TestTwoCodes:
    def test_item_and_lot_in_two_codes(self, implant, who):
        answer = scan(f"]C101{GTIN}", who)
        assert (answer.word, answer.arrival.outcome) == (Word.OTHER_CODE, "half read")
        assert scan("]C11731123110L1", who).arrival.lot == "L1"
        assert Arrival.objects.count() == 1

    def test_the_lot_first_and_the_item_behind_it(self, implant, who):
        assert scan("]C11731123110L1", who).word is Word.OTHER_CODE
        assert scan(f"]C101{GTIN}", who).arrival.lot == "L1"

    def test_a_lot_that_is_typed(self, implant, who):
        scan(f"]C101{GTIN}", who)
        assert scan("LOT L9", who).arrival.lot == "L9"

    def test_another_whole_label_is_read_alone(self, implant, who):
        scan(f"]C101{GTIN}", who)
        assert scan(label(), who).arrival.serial == "7"
        assert Arrival.objects.count() == 1

    def test_begun_again(self, implant, who):
        arrival = scan(f"]C101{GTIN}", who).arrival
        assert set_aside(arrival=arrival, **who).outcome == "not received"


class TestNotInTheCatalogue:
    HIBC = "+A999ABC123DE0/$+1234567Y"

    def test_is_queued_linked_and_received(self, implant, who):
        answer = scan(self.HIBC, who)
        assert (answer.word, answer.code) == (Word.STOP, "not in the catalogue")
        scan(self.HIBC, who)
        queue = Arrival.objects.filter(outcome="not in the catalogue")
        assert queue.count() == 2
        assert link_to_catalogue(arrival=queue[0], implant=implant, **who) == 2
        assert LabelCode.objects.get().code == "A999ABC123DE0"
        assert scan(self.HIBC, who).word is Word.CHECK_BOX

    def test_is_refused(self, implant, who):
        arrival = scan(self.HIBC, who).arrival or Arrival.objects.get()
        assert refuse_unknown(arrival=arrival, note="not ours", **who).outcome == "not received"
        with pytest.raises(ArrivalRefused, match="dealt with meanwhile"):
            link_to_catalogue(arrival=arrival, implant=implant, **who)

    def test_a_code_that_names_another(self, implant, who, site):
        other = factories.implant(site, "STEM-13")
        scan(self.HIBC, who)
        LabelCode.objects.create(site=site, implant=other, code="A999ABC123DE0")
        with pytest.raises(ArrivalRefused, match="name STEM-13 already"):
            link_to_catalogue(arrival=Arrival.objects.get(), implant=implant, **who)

    def test_of_another_site_is_not_ours(self, implant, who, stranger):
        scan(self.HIBC, who)
        with pytest.raises(ArrivalRefused):
            refuse_unknown(arrival=Arrival.objects.get(), note="", by=stranger, now=NOW)


def test_a_box_in_hand_is_its_persons_alone(implant, who, manager):
    arrival = scan(label(), who).arrival
    assert arrival_in_hand(manager) is None
    for act in (set_aside, say_use_by):
        with pytest.raises(ArrivalRefused, match="not in hand any more"):
            act(
                arrival=arrival,
                by=manager,
                now=NOW,
                **({"expiry": None} if act is say_use_by else {}),
            )


def test_two_benches_with_the_same_box(implant, who, manager):
    scan(label(), who)
    scan(label(), {"by": manager, "now": NOW})
    assert scan(PLACE, who).word is Word.RECEIVED
    assert scan(PLACE, {"by": manager, "now": NOW}).word is Word.ALREADY_HERE
    assert Unit.objects.count() == 2


def test_the_database_keeps_one_box_in_hand(implant, who, site):
    scan(label(), who)
    with pytest.raises(IntegrityError), transaction.atomic():
        Arrival.objects.create(
            site=site, by=who["by"].user, at=NOW, text="x", outcome="to be put away"
        )


def test_costs(implant, who, django_assert_num_queries):
    with django_assert_num_queries(14):
        scan(label(), who)
    with django_assert_num_queries(37):
        scan(PLACE, who)
