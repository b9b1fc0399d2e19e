"""A recall holds every box at once, is retrieved by scan, and is closed by two."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from implants.errors import RecallRefused
from implants.models import Recall, RecallBox, Unit
from implants.operations.bench import scan_at_bench
from implants.operations.recalls import close_recall, explain_box, open_recall, retrieve_box
from implants.operations.theatre import pick_unit, record_implanted
from implants.recalls.notice import Named
from implants.recalls.retrieving import Word, answer
from implants.shelf_reading import Label, Place, Unreadable
from tests import factories
from tests.factories import NOW
from tests.implants.labels import label, stem


@pytest.fixture
def who(coordinator):
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def implant(site):
    return stem(site)


@pytest.fixture
def boxes(implant, who):
    """Of lot R1: on the shelf, picked, awaited, in quarantine, implanted; and another lot."""
    made = {
        name: factories.unit(implant, name, lot="R1", location="A-1", **more)
        for name, more in {
            "shelf": {},
            "picked": {},
            "awaited": {"expected_at": NOW + timedelta(days=1)},
            "held": {"hold": "dropped"},
            "implanted": {},
        }.items()
    }
    pick_unit(unit=made["picked"], case_ref="C1", **who)
    record_implanted(unit=made["implanted"], case_ref="C0", **who)
    made["other"] = factories.unit(implant, "other", lot="R2", location="A-1")
    return made


def opened(implant, who, lot="r1", *, is_drill=False, **more) -> Recall:
    named = [Named(implant, lot=lot, **more)]
    return open_recall(title="Notice 7", named=named, is_drill=is_drill, **who)


def states() -> dict[str, str]:
    return dict(Unit.objects.values_list("code", "state"))


def test_every_box_is_on_hold_wherever_it_is(implant, boxes, who):
    made = opened(implant, who)
    recalled = {"shelf", "picked", "awaited", "held"}
    assert {code for code, state in states().items() if state == "recalled"} == recalled
    assert states()["implanted"] == "implanted"
    assert states()["other"] == "on the shelf"
    assert set(Unit.objects.filter(state="recalled").values_list("hold", flat=True)) == {str(made)}
    assert {box.unit.code: (box.was, box.case_ref) for box in made.boxes.all()} == {
        "shelf": ("on the shelf", ""),
        "picked": ("picked", "C1"),
        "awaited": ("awaited", ""),
        "held": ("quarantine", ""),
    }
    assert (made.opened_by, made.opened_at) == (who["by"].user, NOW)


def test_a_drill_lists_the_same_and_holds_nothing(implant, boxes, who):
    before = states()
    made = opened(implant, who, is_drill=True)
    assert states() == before
    assert made.boxes.count() == 4
    assert str(made) == f"Drill {made.pk}: Notice 7"
    retrieve_box(box=made.boxes.get(unit=boxes["shelf"]), **who)
    assert Unit.objects.get(code="shelf").location == "A-1"
    assert scan_at_bench(text=label(lot="R1"), **who).code == ""


def test_a_serial_means_one_box(implant, who):
    for serial in ("1", "2"):
        factories.unit(implant, serial, lot="R1", serial=serial)
    made = open_recall(title="N", named=[Named(implant, serial="2")], is_drill=False, **who)
    assert made.boxes.get().unit.code == "2"


class TestLaterArrivals:
    @pytest.mark.parametrize(
        ("named", "scanned"),
        [
            ({"lot": "R1"}, {"lot": "r1"}),
            ({"serial": "7"}, {"lot": "L9", "serial": "7"}),
            ({}, {"lot": "L9"}),
        ],
    )
    def test_are_stopped_at_the_bench(self, implant, who, named, scanned):
        made = open_recall(title="N", named=[Named(implant, **named)], is_drill=False, **who)
        assert scan_at_bench(text=label(**scanned), **who).code == "recalled"
        unit = Unit.objects.get()
        assert (unit.state, unit.hold) == ("recalled", str(made))

    def test_are_stopped_after_it_was_closed_too(self, implant, who, manager):
        close_recall(recall=opened(implant, who), second=manager, **who)
        assert scan_at_bench(text=label(lot="R1"), **who).code == "recalled"

    def test_are_let_through_where_it_was_withdrawn(self, implant, who, manager):
        made = opened(implant, who)
        close_recall(recall=made, second=manager, note="in error", withdrawn=True, **who)
        assert scan_at_bench(text=label(lot="R1"), **who).code == ""


class TestRetrieving:
    def test_a_box_is_found_once_and_again_is_harmless(self, implant, boxes, who, manager):
        box = opened(implant, who).boxes.get(unit=boxes["shelf"])
        found = retrieve_box(box=box, **who)
        assert (found.done_by, found.done_at) == (who["by"].user, NOW)
        assert Unit.objects.get(code="shelf").location == "Quarantine shelf"
        again = retrieve_box(box=box, by=manager, now=NOW + timedelta(hours=1))
        assert again.done_by == who["by"].user

    def test_one_that_cannot_be_found_takes_a_reason(self, implant, boxes, who):
        box = opened(implant, who).boxes.get(unit=boxes["shelf"])
        with pytest.raises(RecallRefused, match="Say why"):
            explain_box(box=box, note=" ", **who)
        assert explain_box(box=box, note="used in C9, not recorded", **who).is_done

    def test_what_a_scan_answers(self, implant, boxes, who):
        made = opened(implant, who)
        rows = list(made.boxes.select_related("unit__implant"))
        assert answer(boxes["shelf"], rows).box.unit == boxes["shelf"]
        found = answer(Label(implant, lot="r1"), rows)
        assert (found.word, found.box) == (Word.FOUND, rows[0])
        assert found.what_to_do == "1 of 4 of this kind. Put it on the quarantine shelf."
        assert answer(Label(implant, lot="R2"), rows).word is Word.STOP
        assert answer(Place("A-1"), rows).title == "That is a place"
        assert answer(Unreadable("?", "no code"), rows).what_to_do == "no code"
        for box in rows:
            retrieve_box(box=box, **who)
        done = list(made.boxes.select_related("unit__implant"))
        assert answer(Label(implant, lot="R1"), done).word is Word.ALREADY

    def test_a_serial_that_differs_is_another_box(self, implant, who):
        factories.unit(implant, "1", lot="R1", serial="1")
        rows = list(opened(implant, who).boxes.select_related("unit__implant"))
        assert answer(Label(implant, lot="R1", serial="2"), rows).word is Word.STOP
        assert answer(Label(implant, lot="R1", serial="1"), rows).word is Word.FOUND


class TestClosing:
    def test_two_people_when_all_is_accounted_for(self, implant, boxes, who, manager):
        made = opened(implant, who)
        with pytest.raises(RecallRefused, match="4 of its boxes"):
            close_recall(recall=made, second=manager, **who)
        for box in made.boxes.all():
            retrieve_box(box=box, **who)
        closed = close_recall(recall=made, second=manager, **who)
        assert (closed.closed_by, closed.closed_second) == (who["by"].user, manager.user)
        assert states()["shelf"] == "recalled", "closing lifts no hold"
        with pytest.raises(RecallRefused, match="is closed"):
            close_recall(recall=made, second=manager, **who)
        with pytest.raises(RecallRefused, match="is closed"):
            explain_box(box=RecallBox.objects.first(), note="x", **who)

    def test_one_person_is_not_two(self, implant, who, stranger):
        made = opened(implant, who)
        for second in (who["by"], stranger):
            with pytest.raises(RecallRefused, match="two different people"):
                close_recall(recall=made, second=second, **who)
        with pytest.raises(IntegrityError), transaction.atomic():
            Recall.objects.update(closed_at=NOW, closed_by=who["by"].user)

    def test_withdrawing_takes_a_reason(self, implant, who, manager):
        with pytest.raises(RecallRefused, match="Say why"):
            close_recall(recall=opened(implant, who), second=manager, withdrawn=True, **who)


def test_what_cannot_be_opened(implant, who, stranger):
    for title, named, code in (
        (" ", [Named(implant)], "title_missing"),
        ("N", [], "nothing_named"),
    ):
        with pytest.raises(RecallRefused) as refused:
            open_recall(title=title, named=named, is_drill=False, **who)
        assert refused.value.code == code
    with pytest.raises(RecallRefused):
        open_recall(title="N", named=[Named(implant)], is_drill=False, by=stranger, now=NOW)
    assert not Recall.objects.exists()


def test_another_sites_recall_is_not_ours(implant, boxes, who, stranger):
    box = opened(implant, who).boxes.first()
    with pytest.raises(RecallRefused, match="no such recall"):
        retrieve_box(box=box, by=stranger, now=NOW)
