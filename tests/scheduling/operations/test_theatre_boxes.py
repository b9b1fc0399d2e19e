from __future__ import annotations

from datetime import date

import pytest

from deploy.kit.errors import MoveRefused
from implants.errors import UnitRefused
from implants.models import Unit
from implants.states import UnitState
from scheduling.errors import Refused
from scheduling.models import CaseStatus, SizeUsed
from scheduling.operations.theatre_boxes import record_implanted, record_wasted, return_unopened
from scheduling.operations.theatre_checks import check_label, open_box
from scheduling.theatre.waste import WasteReason
from tests import factories
from tests.factories import NOW
from tests.scheduling.theatre.hip import Hip, hip


@pytest.fixture
def of(site) -> Hip:
    return hip(site)


@pytest.fixture
def act(of, theatre_team):
    """Call an operation for a box of the case, as the theatre team."""

    def do(operation, code, by=theatre_team, **values):
        return operation(case=of.case, unit=of.boxes[code], by=by, now=NOW, **values)

    return do


@pytest.fixture
def open_it(of, theatre_team):
    def do(code, **values):
        made = check_label(case=of.case, text=code, by=theatre_team, now=NOW)
        return open_box(check=made, by=theatre_team, now=NOW, **values)

    return do


def refused(code, act, *args, **values):
    with pytest.raises((Refused, MoveRefused, UnitRefused)) as caught:
        act(*args, **values)
    assert caught.value.code == code


class TestImplanted:
    def test_an_opened_box_is_recorded_for_the_case(self, of, act, open_it, theatre_team):
        open_it("STEM")
        box = act(record_implanted, "STEM")
        assert (box.state, box.case_ref) == (UnitState.IMPLANTED, "C1")
        assert box.movements.get(seq=box.seq).by == theatre_team.user

    def test_again_is_harmless(self, act, open_it):
        open_it("STEM")
        assert act(record_implanted, "STEM").seq == act(record_implanted, "STEM").seq == 3

    def test_what_was_planned_is_kept_beside_what_was_used(self, of, act, open_it):
        open_it("ELSE-32", reason="smaller head")
        act(record_implanted, "ELSE-32")
        kept = SizeUsed.objects.get()
        assert (kept.role, kept.planned, kept.used.ref) == ("liner", {"ref": "LN-36"}, "LN-32")

    def test_the_two_people_of_the_opening_sign_the_record(self, of, act, open_it, coordinator):
        Unit.objects.filter(code="STEM").update(expiry=date(2027, 2, 28))
        open_it("STEM", reason="the only one", second=coordinator)
        box = act(record_implanted, "STEM")
        entry = box.movements.get(seq=box.seq)
        assert (entry.reason, entry.second) == ("the only one", coordinator.user)

    def test_one_that_was_not_opened_is_checked_first(self, act):
        refused("box_not_opened", act, record_implanted, "STEM")

    def test_refuses_the_stranger(self, act, open_it, stranger):
        open_it("STEM")
        refused("item_elsewhere", act, record_implanted, "STEM", by=stranger)

    def test_late_entry_for_a_case_that_has_ended(self, of, act, open_it):
        open_it("STEM")
        of.case.status = CaseStatus.ENDED
        of.case.save()
        assert act(record_implanted, "STEM").state == UnitState.IMPLANTED

    def test_nothing_is_recorded_for_a_cancelled_case(self, of, act):
        of.case.status = CaseStatus.CANCELLED
        of.case.save()
        refused("case_not_run", act, record_wasted, "STEM", why=WasteReason.DROPPED)


class TestWasted:
    def test_with_its_reason(self, act, open_it):
        open_it("STEM")
        box = act(record_wasted, "STEM", why=WasteReason.DROPPED, note="at the table")
        entry = box.movements.get(seq=box.seq)
        assert (box.state, entry.reason, entry.case_ref) == (
            UnitState.WASTED,
            "dropped: at the table",
            "C1",
        )

    def test_again_is_harmless(self, act):
        for _ in range(2):
            box = act(record_wasted, "STEM", why=WasteReason.DROPPED)
        assert box.seq == 2

    def test_what_is_implanted_is_not_wasted(self, act, open_it):
        open_it("STEM")
        act(record_implanted, "STEM")
        refused("move_not_allowed", act, record_wasted, "STEM", why=WasteReason.DROPPED)


class TestReturnedUnopened:
    def test_goes_back_to_the_shelf(self, of, act, theatre_team):
        check_label(case=of.case, text="STEM", by=theatre_team, now=NOW)
        box = act(return_unopened, "STEM")
        assert (box.state, box.case_ref) == (UnitState.ON_THE_SHELF, "")

    def test_again_is_harmless(self, of, act, theatre_team):
        check_label(case=of.case, text="STEM", by=theatre_team, now=NOW)
        assert act(return_unopened, "STEM").seq == act(return_unopened, "STEM").seq

    def test_an_opened_one_does_not(self, act, open_it):
        open_it("STEM")
        refused("box_was_opened", act, return_unopened, "STEM")

    def test_one_of_another_case_does_not(self, of, act, theatre_team):
        other = factories.case(of.site, "C9", start=NOW)
        check_label(case=of.case, text="STEM", by=theatre_team, now=NOW)
        values = {"unit": of.boxes["STEM"], "by": theatre_team, "now": NOW}
        refused("box_not_of_case", return_unopened, case=other, **values)
