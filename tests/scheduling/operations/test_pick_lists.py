from __future__ import annotations

from datetime import timedelta

import pytest

from implants.models import Unit
from scheduling.errors import Refused
from scheduling.models import (
    CaseStatus,
    PickLine,
    PickList,
    PickListVersion,
    TrayReservation,
    UnitReservation,
)
from scheduling.operations import reservations
from scheduling.operations.pick_lists import print_and_reserve, print_pick_list
from scheduling.operations.reservations import reserve_tray, reserve_unit
from scheduling.pick_lists.links import ALPHABET
from tests import factories
from tests.factories import NOW
from tests.scheduling.pick_lists.house import PLAN, TOMORROW, House, house


@pytest.fixture
def of(site) -> House:
    return house(site)


def lines(version: PickListVersion) -> list[tuple[str, str, str]]:
    return [
        (str(line.tray or line.unit), line.need, line.location)
        for line in version.lines.select_related("tray", "unit")
    ]


class TestPrint:
    def test_records_the_lines_as_printed(self, of, coordinator):
        version = print_pick_list(case=of.case, by=coordinator, now=NOW)
        assert (version.number, version.printed_at, version.printed_by) == (
            1,
            NOW,
            coordinator.user,
        )
        assert lines(version) == [
            ("BASE/1", "planned", "Store R-1"),
            ("S1", "planned", "Shelf A-2"),
            ("H1", "planned", "Shelf B-1"),
            ("H2", "spare", "Shelf B-1"),
        ]
        assert version.lines.get(position=2).words == "Stem, size 12, HIGH offset, 225 mm"
        (section,) = version.content["sections"]
        assert (section["verdict"], section["counted_on"]) == ("covered", {"REAM-12": 1})
        assert not version.reserved
        assert not UnitReservation.objects.exists()

    def test_the_code_is_short_and_unambiguous(self, of, coordinator):
        code = print_pick_list(case=of.case, by=coordinator, now=NOW).pick_list.code
        assert len(code) == 6
        assert set(code) <= set(ALPHABET)

    def test_a_reprint_without_change_is_the_same_version(self, of, coordinator):
        first = print_pick_list(case=of.case, by=coordinator, now=NOW)
        later = print_pick_list(case=of.case, by=None, now=NOW + timedelta(minutes=5))
        assert later == first
        assert (PickListVersion.objects.count(), PickLine.objects.count()) == (1, 4)

    def test_a_change_is_the_next_version_of_the_same_list(self, of, coordinator):
        first = print_pick_list(case=of.case, by=coordinator, now=NOW)
        factories.held(of.stems[0], "recalled")
        second = print_pick_list(case=of.case, by=coordinator, now=NOW)
        assert (second.pick_list, second.number) == (first.pick_list, 2)
        assert ("S2", "planned", "Shelf A-10") in lines(second)
        assert ("S1", "planned", "Shelf A-2") in lines(first)  # the old one stays as it was

    def test_a_change_of_the_start_alone_is_a_new_version_too(self, of, coordinator):
        print_pick_list(case=of.case, by=coordinator, now=NOW)
        of.case.start += timedelta(minutes=30)
        of.case.save()
        assert print_pick_list(case=of.case, by=coordinator, now=NOW).number == 2

    def test_a_day_has_one_list_with_every_case(self, of, coordinator):
        factories.case(
            of.site,
            "C2",
            technique=of.technique,
            components=PLAN,
            theatre=of.theatre,
            start=of.case.start + timedelta(hours=3),
        )
        factories.case(of.site, "GONE", theatre=of.theatre, status=CaseStatus.CANCELLED)
        version = print_pick_list(theatre=of.theatre, day=TOMORROW, by=coordinator, now=NOW)
        assert [section["case"] for section in version.content["sections"]] == ["C1", "C2"]
        assert version.content["title"] == "Theatre 2, Tue 2 March 2027"
        again = print_pick_list(theatre=of.theatre, day=TOMORROW, by=coordinator, now=NOW)
        assert again == version
        assert PickList.objects.count() == 1

    def test_a_days_limits_are_local(self, of, coordinator):
        # 23:30 UTC on 30 June is 00:30 on 1 July in London.
        late = factories.case(
            of.site,
            "NIGHT",
            technique=of.technique,
            components=PLAN,
            theatre=of.theatre,
            start=NOW.replace(month=6, day=30, hour=23, minute=30),
        )
        version = print_pick_list(
            theatre=of.theatre, day=late.start.date() + timedelta(days=1), by=None, now=NOW
        )
        assert [section["case"] for section in version.content["sections"]] == ["NIGHT"]

    @pytest.mark.parametrize("status", [CaseStatus.ENDED, CaseStatus.CANCELLED])
    def test_refuses_a_case_that_is_over(self, of, coordinator, status):
        of.case.status = status
        of.case.save()
        with pytest.raises(Refused) as refused:
            print_pick_list(case=of.case, by=coordinator, now=NOW)
        assert refused.value.code == "case_is_over"
        assert not PickList.objects.exists()

    def test_refuses_a_day_without_cases(self, of, coordinator):
        with pytest.raises(Refused) as refused:
            print_pick_list(
                theatre=of.theatre, day=TOMORROW + timedelta(days=1), by=coordinator, now=NOW
            )
        assert refused.value.say() == "There is no case in Theatre 2 on 03 Mar 2027."

    def test_is_of_one_case_or_one_day(self, of, coordinator):
        with pytest.raises(TypeError):
            print_pick_list(case=of.case, theatre=of.theatre, by=coordinator, now=NOW)
        with pytest.raises(TypeError):
            print_pick_list(theatre=of.theatre, by=coordinator, now=NOW)

    def test_costs_a_fixed_number_of_queries(self, of, coordinator, django_assert_num_queries):
        case = of.case
        with django_assert_num_queries(35):
            print_pick_list(case=case, by=coordinator, now=NOW)


class TestPrintAndReserve:
    def test_promises_every_box_and_tray_of_the_list(self, of, coordinator):
        version = print_and_reserve(case=of.case, by=coordinator, now=NOW)
        assert version.reserved
        promised = set(UnitReservation.objects.values_list("unit__code", "case__ref", "freed_at"))
        assert promised == {("S1", "C1", None), ("H1", "C1", None), ("H2", "C1", None)}
        assert TrayReservation.objects.get().tray.code == "BASE/1"

    def test_what_is_printed_is_the_list_after_the_promises(self, of, coordinator):
        version = print_and_reserve(case=of.case, by=coordinator, now=NOW)
        assert print_pick_list(case=of.case, by=coordinator, now=NOW) == version
        assert print_and_reserve(case=of.case, by=coordinator, now=NOW) == version
        assert UnitReservation.objects.count() == 3

    def test_marks_the_version_that_was_printed_before(self, of, coordinator):
        printed = print_pick_list(case=of.case, by=coordinator, now=NOW)
        assert print_and_reserve(case=of.case, by=coordinator, now=NOW) == printed
        printed.refresh_from_db()
        assert printed.reserved

    def test_reserves_each_case_of_a_day_its_own(self, of, coordinator):
        factories.case(
            of.site,
            "C2",
            technique=of.technique,
            components=PLAN,
            theatre=of.theatre,
            start=of.case.start + timedelta(hours=3),
        )
        print_and_reserve(theatre=of.theatre, day=TOMORROW, by=coordinator, now=NOW)
        promised = dict(TrayReservation.objects.values_list("tray__code", "case__ref"))
        assert promised == {"BASE/1": "C1", "BASE/2": "C2"}

    def test_a_conflict_names_the_other_case_and_leaves_nothing_half_done(self, of, coordinator):
        """C9 holds a box that it does not need: free for the cover check, and yet reserved."""
        printed = print_pick_list(case=of.case, by=coordinator, now=NOW)
        other = factories.case(of.site, "C9")
        reserve_unit(case=other, unit=of.heads[1], by=coordinator, now=NOW)
        with pytest.raises(Refused) as refused:
            print_and_reserve(case=of.case, by=coordinator, now=NOW)
        assert refused.value.say() == "Box H2 is reserved for case C9."
        assert not TrayReservation.objects.exists()
        assert UnitReservation.objects.get().case == other
        printed.refresh_from_db()
        assert not printed.reserved

    def test_a_tray_that_another_case_has_at_that_hour(self, of, coordinator):
        other = factories.case(of.site, "C9")
        reserve_tray(case=other, tray=of.trays[0], by=coordinator, now=NOW)
        with pytest.raises(Refused) as refused:
            print_and_reserve(case=of.case, by=coordinator, now=NOW)
        assert refused.value.code == "tray_promised"
        assert refused.value.values["other"] == "C9"
        assert not UnitReservation.objects.exists()
        assert not PickListVersion.objects.exists()


def test_promises_lock_in_the_order_of_ids(of, coordinator, monkeypatch):
    """A recall locks boxes by id; by code, the two could each wait for the other."""
    Unit.objects.filter(pk=of.heads[1].pk).update(code="H0")
    locked: list[int] = []
    right = reservations.locked_unit

    def noting(unit: Unit) -> Unit:
        locked.append(unit.pk)
        return right(unit)

    monkeypatch.setattr(reservations, "locked_unit", noting)
    print_and_reserve(case=of.case, by=coordinator, now=NOW)
    assert locked == sorted(locked)
    assert len(locked) == 3
