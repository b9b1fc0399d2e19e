from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from deploy.kit.models import Person, Site
from implants.operations.theatre import pick_unit, record_implanted
from scheduling.errors import Refused
from scheduling.models import Case, HouseSettings, OpeningHours, TrayReservation, UnitReservation
from scheduling.operations.reservations import (
    free_tray,
    free_unit,
    reserve_tray,
    reserve_unit,
)
from tests import factories
from tests.factories import NOW
from trays.stages import Stage


@pytest.fixture
def case(site: Site) -> Case:
    return factories.case(site, "C1")


@pytest.fixture
def other_case(site: Site) -> Case:
    return factories.case(site, "C2")


def refusal(action, **values) -> str:
    with pytest.raises(Refused) as refused:
        action(**values)
    return refused.value.say()


class TestUnit:
    @pytest.fixture
    def unit(self, site: Site):
        return factories.unit(factories.implant(site))

    def test_reserves(self, case, unit, coordinator: Person):
        made = reserve_unit(case=case, unit=unit, by=coordinator, now=NOW)
        assert (made.case, made.unit, made.at, made.by) == (case, unit, NOW, coordinator.user)

    def test_twice_is_harmless(self, case, unit, coordinator):
        first = reserve_unit(case=case, unit=unit, by=coordinator, now=NOW)
        again = reserve_unit(case=case, unit=unit, by=coordinator, now=NOW)
        assert first == again
        assert UnitReservation.objects.count() == 1

    def test_refuses_what_another_case_holds_and_names_it(
        self, case, other_case, unit, coordinator
    ):
        reserve_unit(case=other_case, unit=unit, by=coordinator, now=NOW)
        said = refusal(reserve_unit, case=case, unit=unit, by=coordinator, now=NOW)
        assert said == "Box U001 is reserved for case C2."

    def test_the_database_refuses_a_second_live_reservation(self, case, other_case, unit):
        factories.promised_unit(case, unit)
        with pytest.raises(IntegrityError), transaction.atomic():
            factories.promised_unit(other_case, unit)

    def test_refuses_a_box_on_hold(self, site, case, coordinator):
        held = factories.unit(factories.implant(site), hold="recalled")
        said = refusal(reserve_unit, case=case, unit=held, by=coordinator, now=NOW)
        assert said == "Box U001 is on hold: recalled."

    def test_refuses_a_box_that_is_gone_or_picked_for_another(
        self, case, other_case, unit, coordinator
    ):
        pick_unit(unit=unit, case_ref="C2", by=coordinator, now=NOW)
        said = refusal(reserve_unit, case=case, unit=unit, by=coordinator, now=NOW)
        assert said == "Box U001 is picked for case C2."
        assert reserve_unit(case=other_case, unit=unit, by=coordinator, now=NOW).unit == unit
        record_implanted(unit=unit, case_ref="C2", by=coordinator, now=NOW)
        free_unit(case=other_case, unit=unit, by=coordinator, now=NOW)
        said = refusal(reserve_unit, case=case, unit=unit, by=coordinator, now=NOW)
        assert said == "Box U001 is implanted."

    def test_use_by_is_inclusive(self, site, case, coordinator):
        implant = factories.implant(site)
        good = factories.unit(implant, "U-GOOD", expiry=date(2027, 3, 2))
        late = factories.unit(implant, "U-LATE", expiry=date(2027, 3, 1))
        reserve_unit(case=case, unit=good, by=coordinator, now=NOW)
        said = refusal(reserve_unit, case=case, unit=late, by=coordinator, now=NOW)
        assert said == "Box U-LATE: use by 01 Mar 2027, but case C1 ends on 02 Mar 2027."

    def test_the_day_of_use_is_the_local_day_of_the_end(self, site, coordinator):
        # British Summer Time: 23:30 UTC on 30 June is 00:30 on 1 July in London.
        night = factories.case(
            site, "NIGHT", start=NOW.replace(month=6, day=30, hour=21, minute=30), minutes=120
        )
        unit = factories.unit(factories.implant(site), expiry=date(2027, 6, 30))
        said = refusal(reserve_unit, case=night, unit=unit, by=coordinator, now=NOW)
        assert said == "Box U001: use by 30 Jun 2027, but case NIGHT ends on 01 Jul 2027."

    def test_refuses_the_wrong_side(self, site, case, coordinator):
        sided = factories.unit(factories.implant(site, side="right"))
        said = refusal(reserve_unit, case=case, unit=sided, by=coordinator, now=NOW)
        assert said == "Box U001 is for the right side; case C1 is left."

    def test_refuses_a_box_of_another_site(self, case, stranger, coordinator):
        theirs = factories.unit(factories.implant(stranger.site))
        said = refusal(reserve_unit, case=case, unit=theirs, by=coordinator, now=NOW)
        assert said == "Box U001 belongs to another site."

    def test_refuses_for_a_case_that_is_over(self, site, unit, coordinator):
        over = factories.case(site, "C9", status="cancelled")
        said = refusal(reserve_unit, case=over, unit=unit, by=coordinator, now=NOW)
        assert said == "Case C9 is cancelled; nothing can be changed for it any more."

    def test_freed_it_is_free_for_another_case_and_the_record_stays(
        self, case, other_case, unit, coordinator
    ):
        reserve_unit(case=case, unit=unit, by=coordinator, now=NOW)
        free_unit(case=case, unit=unit, by=coordinator, now=NOW)
        reserve_unit(case=other_case, unit=unit, by=coordinator, now=NOW)
        kept = UnitReservation.objects.order_by("id").values_list("case__ref", "freed_at")
        assert list(kept) == [("C1", NOW), ("C2", None)]

    def test_only_its_own_reservation_can_be_freed(self, case, other_case, unit, coordinator):
        reserve_unit(case=case, unit=unit, by=coordinator, now=NOW)
        said = refusal(free_unit, case=other_case, unit=unit, by=coordinator, now=NOW)
        assert said == "Box U001 is not reserved for case C2."
        assert UnitReservation.objects.get().freed_at is None


class TestTray:
    @pytest.fixture
    def tray(self, site: Site):
        return factories.tray(factories.configuration(site))

    def test_reserves(self, case, tray, coordinator):
        made = reserve_tray(case=case, tray=tray, by=coordinator, now=NOW)
        assert (made.case, made.tray, made.at, made.by) == (case, tray, NOW, coordinator.user)

    def test_twice_is_harmless(self, case, tray, coordinator):
        first = reserve_tray(case=case, tray=tray, by=coordinator, now=NOW)
        assert reserve_tray(case=case, tray=tray, by=coordinator, now=NOW) == first
        assert TrayReservation.objects.count() == 1

    def test_refuses_two_cases_at_once_and_names_the_other(
        self, case, other_case, tray, coordinator
    ):
        reserve_tray(case=other_case, tray=tray, by=coordinator, now=NOW)
        said = refusal(reserve_tray, case=case, tray=tray, by=coordinator, now=NOW)
        assert said == (
            "Tray BASE/1 is reserved for case C2 and not free from Tue 02 Mar 07:30 until "
            "Tue 02 Mar 15:15, its turnaround included."
        )

    @pytest.mark.parametrize(("minutes", "is_free"), [(404, False), (405, True)])
    def test_serves_two_cases_one_after_the_other(
        self, site, case, tray, coordinator, minutes, is_free
    ):
        # 120 minutes of C1, 15 until the tray is out, 270 of the fast track, all in opening
        # hours; the next case needs it an hour before its start.
        reserve_tray(case=case, tray=tray, by=coordinator, now=NOW)
        following = factories.case(site, "C3", start=case.start + timedelta(minutes=minutes + 60))
        if is_free:
            reserve_tray(case=following, tray=tray, by=coordinator, now=NOW)
        else:
            refusal(reserve_tray, case=following, tray=tray, by=coordinator, now=NOW)
        assert TrayReservation.objects.count() == 1 + is_free

    def test_a_department_elsewhere_has_it_for_both_ways_more(self, site, case, tray, coordinator):
        HouseSettings.objects.filter(site=site).update(transport_minutes=40)
        made = reserve_tray(case=case, tray=tray, by=coordinator, now=NOW)
        out = case.end + timedelta(minutes=15)
        assert made.busy_until == out + timedelta(minutes=270 + 2 * 40)

    def test_without_opening_hours_it_serves_one_case_only(self, site, case, tray, coordinator):
        OpeningHours.objects.filter(site=site).delete()
        reserve_tray(case=case, tray=tray, by=coordinator, now=NOW)
        far = factories.case(site, "C3", start=case.start.replace(year=2029))
        said = refusal(reserve_tray, case=far, tray=tray, by=coordinator, now=NOW)
        assert said.endswith("until further notice, its turnaround included.")

    def test_refuses_a_tray_on_hold(self, site, case, coordinator):
        held = factories.tray(factories.configuration(site), stage=Stage.QUARANTINE)
        said = refusal(reserve_tray, case=case, tray=held, by=coordinator, now=NOW)
        assert said == "Tray BASE/1 is on hold: quarantine."

    def test_a_loan_that_is_awaited_may_be_promised(self, site, case, coordinator):
        loan = factories.tray(
            factories.configuration(site), stage=Stage.WITH_SUPPLIER, expected_at=NOW
        )
        assert reserve_tray(case=case, tray=loan, by=coordinator, now=NOW).tray == loan

    def test_refuses_a_tray_of_another_site(self, case, stranger, coordinator):
        theirs = factories.tray(factories.configuration(stranger.site))
        said = refusal(reserve_tray, case=case, tray=theirs, by=coordinator, now=NOW)
        assert said == "Tray BASE/1 belongs to another site."

    def test_freed_it_is_free_for_another_case(self, case, other_case, tray, coordinator):
        reserve_tray(case=case, tray=tray, by=coordinator, now=NOW)
        free_tray(case=case, tray=tray, by=coordinator, now=NOW)
        reserve_tray(case=other_case, tray=tray, by=coordinator, now=NOW)
        assert TrayReservation.objects.get(freed_at=None).case == other_case

    def test_only_its_own_reservation_can_be_freed(self, case, tray, coordinator):
        said = refusal(free_tray, case=case, tray=tray, by=coordinator, now=NOW)
        assert said == "Tray BASE/1 is not reserved for case C1."
