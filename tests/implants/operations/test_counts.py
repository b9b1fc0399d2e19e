"""A count finds every difference, and what is said of each becomes a movement or stays open."""

from __future__ import annotations

from decimal import Decimal

import pytest

from implants.cost import Boxes
from implants.counting.answers import Word
from implants.counting.places_now import counted_on, places_now, places_of_line
from implants.errors import CountRefused
from implants.models import Count, CountLine, Implant, Unit
from implants.models.count import Explained, Found
from implants.operations.counts import (
    Explanation,
    close_count,
    open_count,
    scan_at_count,
    settle_difference,
)
from implants.operations.theatre import pick_unit
from tests import factories
from tests.factories import NOW
from tests.implants.labels import GTIN, label, stem

A, B = "Store A-01", "Store B-01"


@pytest.fixture
def who(coordinator):
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def implant(site):
    return stem(site)


@pytest.fixture
def boxes(implant):
    """In A: one with a serial, two of a lot without, one on hold.  In B: one."""
    return {
        code: factories.unit(implant, code, **more)
        for code, more in {
            "S7": {"lot": "L1", "serial": "7", "location": A},
            "N1": {"lot": "N", "location": A},
            "N2": {"lot": "N", "location": A},
            "HELD": {"lot": "H", "location": A, "hold": "dropped"},
            "B1": {"lot": "L1", "serial": "9", "location": B},
        }.items()
    }


@pytest.fixture
def count(boxes, who) -> Count:
    return open_count(places=[A], is_blind=True, **who)


def scan(count, text, who, **more):
    return scan_at_count(count=count, text=text, **who, **more)


def odd(count) -> dict[str, str]:
    lines = count.lines.select_related("unit")
    return {str(line.unit or line.read): line.found for line in lines if line.is_difference}


def close(count, who, **said):
    """`said`: house code of the box (or "new") → how, perhaps with a note."""
    by_line = {}
    for line in count.lines.select_related("unit"):
        how = said.get(line.unit.code if line.unit else "new")
        if how is not None:
            how, note = how if isinstance(how, tuple) else (how, "")
            by_line[line.pk] = Explanation(how, note)
    return close_count(count=count, explanations=by_line, **who)


def test_lists_what_lies_there_and_not_what_is_away(boxes, who):
    pick_unit(unit=boxes["N2"], case_ref="C1", **who)
    count = open_count(places=[A, A], is_blind=True, **who)
    assert set(count.lines.values_list("unit__code", flat=True)) == {"S7", "N1", "HELD"}
    assert (count.opened_by, count.at_place) == (who["by"].user, A)


def test_each_box_is_counted(count, who):
    for text in (label(), "STEM-12 N", "STEM-12 N", "HELD"):
        assert scan(count, text, who).word is Word.COUNTED
    assert odd(count) == {}


def test_the_same_box_twice_is_harmless_where_its_label_tells(count, who):
    scan(count, label(), who)
    assert scan(count, label(), who).word is Word.ALREADY
    scan(count, "HELD", who)
    assert scan(count, "HELD", who).word is Word.ALREADY
    assert odd(count) == {"N1": "expected", "N2": "expected"}


def test_one_more_of_a_lot_than_recorded_is_a_difference(count, who):
    for _ in range(2):
        scan(count, "STEM-12 N", who)
    answer = scan(count, "STEM-12 N", who)
    assert (answer.word, answer.title) == (Word.STOP, "One more than recorded")
    assert odd(count)["REF STEM-12, LOT N"] == "not in the record"


def test_a_box_that_belongs_elsewhere(count, who):
    answer = scan(count, label(serial="9"), who)
    assert (answer.title, answer.asked) == ("Belongs elsewhere", f"its place, {B}")
    assert scan(count, label(serial="9"), who).word is Word.ALREADY
    assert odd(count)["B1"] == "belongs elsewhere"


def test_a_box_that_is_not_in_the_record(count, who):
    assert scan(count, label(serial="99"), who).title == "Not in the record"
    assert scan(count, label(serial="99"), who).word is Word.ALREADY
    assert CountLine.objects.filter(found=Found.NOT_IN_RECORD).count() == 1


@pytest.mark.parametrize("text", ["nonsense", B])
def test_what_counts_for_nothing(count, who, text):
    assert scan(count, text, who).word is Word.STOP
    assert len(odd(count)) == 4


def test_two_codes_of_one_label(count, who):
    half = scan(count, f"]C101{GTIN}", who)
    assert half.word is Word.HALF
    assert scan(count, "]C11731123110L1\x1d217", who, first=half.first).word is Word.COUNTED


def test_several_places(boxes, who):
    count = open_count(places=[A, B], is_blind=False, **who)
    assert scan(count, label(serial="9"), who).title == "Belongs elsewhere"
    assert scan(count, B, who).word is Word.PLACE
    assert scan(count, label(serial="7"), who).title == "Belongs elsewhere"
    assert {line.unit.code: line.place for line in count.lines.exclude(found="expected")} == {
        "B1": A,
        "S7": B,
    }


class TestClosing:
    def test_what_is_missing_is_kept_from_every_case(self, count, who):
        close(count, who, N1=(Explained.MISSING, "not in A or B"))
        unit = Unit.objects.get(code="N1")
        hold = f"missing at count {count.pk}: not in A or B"
        assert (unit.state, unit.hold) == ("quarantine", hold)
        assert unit.movements.last().by == who["by"].user
        count.refresh_from_db()
        assert (count.closed_by, count.closed_at) == (who["by"].user, NOW)

    def test_what_is_put_away_has_its_new_place(self, count, who):
        scan(count, label(serial="9"), who)
        close(count, who, B1=Explained.PUT_AWAY)
        unit = Unit.objects.get(code="B1")
        assert (unit.location, unit.movements.last().move.kind) == (A, "put away")

    def test_what_is_put_back_keeps_its_place(self, count, who):
        scan(count, label(serial="9"), who)
        close(count, who, B1=Explained.PUT_BACK)
        assert Unit.objects.get(code="B1").location == B

    def test_the_rest_stays_open_and_is_settled_later(self, count, who):
        close(count, who)
        assert Unit.objects.filter(state="on the shelf").count() == 4
        line = count.lines.get(unit__code="N1")
        assert line.explained == ""
        settle_difference(line=line, explanation=Explanation(Explained.MISSING), **who)
        assert Unit.objects.get(code="N1").state == "quarantine"
        with pytest.raises(CountRefused, match="settled meanwhile"):
            settle_difference(line=line, explanation=Explanation(Explained.MISSING), **who)

    def test_a_box_that_moved_meanwhile_is_no_difference(self, count, boxes, who):
        pick_unit(unit=boxes["N1"], case_ref="C1", **who)
        close(count, who, N1=Explained.MISSING)
        assert Unit.objects.get(code="N1").state == "picked"
        assert count.lines.get(unit__code="N1").explained == "moved meanwhile"

    def test_every_explanation_in_words_is_asked_for_at_once(self, count, who):
        other = (Explained.OTHER, " ")
        with pytest.raises(CountRefused, match=f"N1 at {A}; N2 at {A}"):
            close(count, who, N1=other, N2=other, S7=Explained.MISSING)
        assert Unit.objects.get(code="S7").state == "on the shelf"
        assert Count.objects.get().is_open

    def test_an_explanation_of_another_kind_of_difference_leaves_it_open(self, count, who):
        close(count, who, N1=Explained.PUT_AWAY)
        assert count.lines.get(unit__code="N1").explained == ""

    def test_a_closed_count_takes_no_scan(self, count, who):
        close(count, who)
        with pytest.raises(CountRefused, match="is closed"):
            scan(count, label(), who)


def test_a_place_is_counted_once_at_a_time(count, who):
    with pytest.raises(CountRefused, match=f"running there already: {A}"):
        open_count(places=[A, B], is_blind=True, **who)
    with pytest.raises(CountRefused, match="which place"):
        open_count(places=[], is_blind=True, **who)


def test_another_sites_count_is_not_ours(count, stranger):
    with pytest.raises(CountRefused, match="no such count"):
        scan(count, label(), {"by": stranger, "now": NOW})
    line = count.lines.first()
    with pytest.raises(CountRefused):
        settle_difference(
            line=line, explanation=Explanation(Explained.MISSING), by=stranger, now=NOW
        )


def test_the_places_and_their_last_count(count, boxes, who, site):
    found = {one.place: (one.boxes.number, one.last_ones) for one in places_now(site)}
    assert found == {A: (4, 0), B: (1, 0)}
    Implant.objects.update(price=Decimal("12.50"))
    assert {one.place: one.boxes for one in places_now(site)} == {
        A: Boxes(4, Decimal(50)),
        B: Boxes(1, Decimal("12.50")),
    }
    assert counted_on(site) == {}
    close(count, who)
    assert counted_on(site) == {A: NOW.date()}
    assert places_of_line(site, "stem") == [A, B]
    assert places_of_line(site, "head") == []


def test_costs_the_same_however_many_boxes_lie_there(count, who, django_assert_num_queries):
    with django_assert_num_queries(10):
        scan(count, label(), who)
