from __future__ import annotations

from datetime import date, timedelta

import pytest

from deploy.kit.errors import MoveRefused
from implants.errors import UnitRefused
from implants.operations.holds import quarantine
from scheduling.errors import Refused
from scheduling.models import CaseStatus
from scheduling.operations.picks import fetch_box, fetch_tray
from tests import factories
from tests.factories import NOW
from tests.scheduling.pick_lists.house import House, house
from trays.stages import Stage


@pytest.fixture
def of(site) -> House:
    return house(site)


def refused(code, act, **values):
    with pytest.raises((Refused, MoveRefused, UnitRefused)) as caught:
        act(now=NOW, **values)
    assert caught.value.code == code
    return caught.value


class TestABox:
    def test_is_picked_for_the_case(self, of, theatre_team):
        box = fetch_box(case=of.case, unit=of.stems[0], by=theatre_team, now=NOW, station="Door 2")
        assert (box.state, box.case_ref) == ("picked", "C1")
        assert box.movements.get(seq=box.seq).station == "Door 2"

    def test_again_is_harmless(self, of, theatre_team):
        for _ in range(2):
            box = fetch_box(case=of.case, unit=of.stems[0], by=theatre_team, now=NOW)
        assert box.seq == 2

    def test_refuses_the_stranger(self, of, stranger):
        refused("item_elsewhere", fetch_box, case=of.case, unit=of.stems[0], by=stranger)

    @pytest.mark.parametrize("role", ["manager", "surgeon", "sterile_services"])
    def test_refuses_the_read_only(self, of, role, request):
        by = request.getfixturevalue(role)
        refused("pick_not_yours", fetch_box, case=of.case, unit=of.stems[0], by=by)

    def test_refuses_what_may_not_be_used(self, of, theatre_team, coordinator):
        old = factories.unit(of.stem, "OLD", expiry=NOW.date() - timedelta(days=1))
        right = factories.unit(factories.implant(of.site, "R", side="right"), "R1")
        factories.promised_unit(factories.case(of.site, "C9"), of.stems[0])
        quarantine(unit=of.stems[1], reason="dropped", by=coordinator, now=NOW)
        at = {"case": of.case, "by": theatre_team}
        assert refused("unit_expired", fetch_box, unit=old, **at).values["expiry"] == date(
            2027, 2, 28
        )
        refused("move_not_allowed", fetch_box, unit=of.stems[1], **at)
        refused("changed_meanwhile", fetch_box, unit=of.stems[0], **at)
        refused("changed_meanwhile", fetch_box, unit=right, **at)

    def test_refuses_a_case_that_is_over(self, of, theatre_team):
        of.case.status = CaseStatus.ENDED
        of.case.save()
        refused("case_is_over", fetch_box, case=of.case, unit=of.stems[0], by=theatre_team)


class TestATray:
    def test_is_issued_to_the_case(self, of, sterile_services):
        until = NOW + timedelta(days=9)
        tray = factories.tray(of.trays[0].version, "BASE/9", sterile_until=until)
        tray = fetch_tray(case=of.case, tray=tray, by=sterile_services, now=NOW)
        assert (tray.stage, tray.case_ref, tray.sterile_until) == (Stage.ISSUED, "C1", until)
        assert tray.ready_at == NOW

    def test_again_is_harmless(self, of, sterile_services):
        for _ in range(2):
            tray = fetch_tray(case=of.case, tray=of.trays[0], by=sterile_services, now=NOW)
        assert tray.seq == 2

    def test_refuses_the_stranger(self, of, stranger):
        refused("item_elsewhere", fetch_tray, case=of.case, tray=of.trays[0], by=stranger)

    def test_refuses_one_that_another_case_has(self, of, sterile_services):
        fetch_tray(case=of.case, tray=of.trays[0], by=sterile_services, now=NOW)
        other = factories.case(of.site, "C9")
        said = refused("tray_issued", fetch_tray, case=other, tray=of.trays[0], by=sterile_services)
        assert said.say() == "Tray BASE/1 is issued to case C1."

    def test_refuses_one_that_is_not_in_the_sterile_store(self, of, sterile_services):
        later = NOW + timedelta(hours=6)
        tray = factories.tray(
            of.trays[0].version, "BASE/8", stage=Stage.STERILISING, ready_at=later
        )
        refused("move_not_allowed", fetch_tray, case=of.case, tray=tray, by=sterile_services)

    def test_refuses_one_past_its_sterile_date(self, of, sterile_services):
        until = NOW - timedelta(minutes=1)
        tray = factories.tray(of.trays[0].version, "BASE/7", sterile_until=until)
        refused("tray_not_sterile", fetch_tray, case=of.case, tray=tray, by=sterile_services)
