from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from scheduling.errors import NotUsable, Refused
from scheduling.models import CaseStatus, OutsideBox, SizeUsed, Used
from scheduling.operations.outside_boxes import Label, record_outside_box, void_outside_box
from scheduling.operations.theatre_checks import check_label
from scheduling.theatre.fhir import record_bundle
from scheduling.theatre.record import case_record
from scheduling.tracing.case_history import case_history
from scheduling.tracing.trace import trace
from tests import factories
from tests.factories import NOW
from tests.scheduling.theatre.hip import Hip, hip

LINER = Label(
    role="liner",
    words="liner, inner Ø 32 mm, group D",
    maker="Maker North",
    ref="LN-32",
    lot="X77",
    serial="S1",
    use_by=date(2029, 5, 31),
)


@pytest.fixture
def of(site) -> Hip:
    return hip(site)


@pytest.fixture
def record(of, theatre_team, coordinator):
    def do(label=LINER, **said) -> OutsideBox:
        said = {"outcome": Used.IMPLANTED, "reason": "the house had none"} | said
        said = {"by": theatre_team, "second": coordinator, "now": NOW} | said
        return record_outside_box(case=of.case, label=label, **said)

    return do


def refused(code, act, *args, **values):
    with pytest.raises(Refused) as caught:
        act(*args, **values)
    assert caught.value.code == code


class TestRecorded:
    def test_what_the_label_says_and_who(self, record, of, theatre_team, coordinator):
        box = record()
        box.refresh_from_db()
        assert (box.ref, box.lot, box.serial, box.use_by) == ("LN-32", "X77", "S1", LINER.use_by)
        assert (box.by, box.second, box.at) == (theatre_team.user, coordinator.user, NOW)
        assert box.implant == of.boxes["ELSE-32"].implant

    def test_the_same_serial_again_is_harmless_and_equal_lots_are_two(self, record):
        assert record() == record()
        no_serial = replace(LINER, serial="")
        assert record(no_serial) != record(no_serial)

    def test_after_the_end_too_but_not_for_a_cancelled_case(self, record, of):
        of.case.status = CaseStatus.ENDED
        of.case.save()
        record()
        of.case.status = CaseStatus.CANCELLED
        of.case.save()
        refused("case_not_run", record)

    def test_takes_two_different_people_of_the_house(self, record, theatre_team, stranger):
        for second in (None, theatre_team, stranger):
            refused("outside_takes_two", record, second=second)
        assert not OutsideBox.objects.exists()

    def test_all_faults_at_once(self, record):
        with pytest.raises(NotUsable) as caught:
            record(Label(role="", words="x", maker="", ref=" "), reason=" ")
        assert [fault.partition(":")[0] for fault in caught.value.values["faults"]] == [
            "role",
            "REF",
            "maker",
            "LOT or serial",
            "reason",
        ]

    def test_a_box_of_the_house_is_recorded_as_itself(self, record, of):
        factories.unit(of.boxes["ELSE-32"].implant, "OURS", serial="S1")
        refused("box_is_on_record", record)

    def test_the_catalogue_s_item_is_its_maker_s(self, record):
        assert record(replace(LINER, maker="Maker South")).implant is None


class TestPlannedAgainstUsed:
    def test_what_the_plan_names_and_the_catalogue_holds(self, record, of, theatre_team):
        box = record()
        kept = SizeUsed.objects.get()
        assert (kept.outside, kept.unit, kept.case) == (box, None, of.case)
        assert (kept.used, kept.planned) == (box.implant, {"ref": "LN-36"})

    def test_not_what_was_wasted_or_is_in_no_catalogue(self, record):
        record(outcome=Used.WASTED)
        record(replace(LINER, maker="Maker South", serial="S2"))
        assert not SizeUsed.objects.exists()


class TestWhereItIsFound:
    def test_in_the_record_and_the_export(self, record, of):
        box = record()
        (shown,) = case_record(of.case).implanted
        assert (shown.received, shown.lot, shown.code) == (False, "X77", box.key)
        device = record_bundle(case_record(of.case))["entry"][1]["resource"]
        assert device["lotNumber"] == "X77"
        assert device["note"] == [{"text": "Never received by this house: as its label says."}]

    @pytest.mark.parametrize("text", ["X77", "x77", "S1"])
    def test_by_a_trace_of_its_lot_or_serial(self, record, of, text):
        record()
        found = trace(of.site, text)
        assert [case.ref for case in found.cases] == ["C1"]
        assert found.cases[0].events[0].what == "implanted, never received here"
        assert found.outside == ("liner, inner Ø 32 mm, group D, REF LN-32, LOT X77, SN S1",)

    def test_the_next_label_is_held_against_it(self, record, of, theatre_team):
        record()
        made = check_label(case=of.case, text="HEAD", by=theatre_team, now=NOW)
        assert (made.answer, made.reason["code"]) == ("STOP", "head and liner differ")
        assert "never received here" in made.reason["asked"]

    def test_what_the_catalogue_does_not_hold_is_not_known_to_fit(self, record, of, theatre_team):
        record(replace(LINER, ref="ELSEWHERE"))
        made = check_label(case=of.case, text="HEAD", by=theatre_team, now=NOW)
        assert (made.answer, made.reason["code"]) == ("STOP", "head and liner not known")


class TestEnteredInError:
    @pytest.fixture
    def void(self, theatre_team, coordinator):
        def do(box, **said):
            said = {"reason": "wrong case", "by": theatre_team, "second": coordinator} | said
            return void_outside_box(box=box, now=NOW, **said)

        return do

    def test_it_leaves_record_and_trace_and_stays_in_the_history(self, record, void, of):
        void(record())
        assert case_record(of.case).implanted == ()
        assert trace(of.site, "X77").is_empty
        whats = [event.what for event in case_history(of.case)]
        assert {"implanted, never received here", "taken off the record"} <= set(whats)

    def test_once_and_by_two(self, record, void, theatre_team):
        box = record()
        refused("outside_takes_two", void, box, second=theatre_team)
        refused("outside_invalid", void, box, reason="")
        void(box)
        refused("outside_void_before", void, box)

    def test_it_can_be_entered_anew(self, record, void):
        first = record()
        void(first)
        assert record() != first
