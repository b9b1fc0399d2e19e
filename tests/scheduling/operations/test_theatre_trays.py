"""A tray that the check stopped is used all the same: with a reason, and on record."""

from __future__ import annotations

from datetime import timedelta

import pytest

from scheduling.errors import Refused
from scheduling.models import LabelCheck, TrayTaken
from scheduling.operations.theatre_checks import check_label
from scheduling.operations.theatre_trays import take_tray
from scheduling.theatre.in_theatre import in_theatre
from scheduling.theatre.record import case_record
from tests import factories
from tests.factories import NOW
from tests.scheduling.theatre.hip import Hip, hip
from trays.hold_kinds import HoldKind
from trays.models import Load, Machine, MachineKind, Tray
from trays.operations.holds import hold_for
from trays.stages import Stage


@pytest.fixture
def of(site) -> Hip:
    return hip(site)


@pytest.fixture
def other(of) -> Tray:
    """A second tray of the configuration, sterile, not on the list."""
    return factories.tray(of.tray.version, "BASE/2")


@pytest.fixture
def stopped(of, theatre_team):
    def check(code: str) -> LabelCheck:
        made = check_label(case=of.case, text=code, by=theatre_team, now=NOW)
        assert made.answer == "STOP"
        return made

    return check


@pytest.fixture
def take(theatre_team):
    def do(check, **said) -> TrayTaken:
        return take_tray(check=check, by=theatre_team, now=NOW, **said)

    return do


def refused(code, act, *args, **values):
    with pytest.raises(Refused) as caught:
        act(*args, **values)
    assert caught.value.code == code


def stage(tray) -> str:
    return Tray.objects.get(pk=tray.pk).stage


def test_another_tray_comes_into_theatre_with_a_reason(of, other, stopped, take):
    check = stopped("BASE/2")
    refused("opening_takes_reason", take, check)
    assert stage(other) == Stage.STERILE_STORE
    taken = take(check, reason="the first fell down")
    assert (taken.case, taken.override, taken.second) == (of.case, "the first fell down", None)
    there = Tray.objects.get(pk=other.pk)
    assert (there.stage, there.case_ref) == (Stage.IN_THEATRE, "C1")
    assert case_record(of.case).stopped == (("BASE/2", "the first fell down"),)


def test_again_is_harmless(other, stopped, take):
    check = stopped("BASE/2")
    assert take(check, reason="needed") == take(check, reason="needed")


def test_what_is_not_sterile_takes_two(of, other, stopped, take, coordinator, theatre_team):
    hold_for(tray=other, kind=HoldKind.HOLE, by=coordinator, now=NOW)
    check = stopped("BASE/2")
    assert check.reason["code"] == "tray on hold"
    refused("opening_takes_two", take, check, reason="nothing else")
    refused("opening_takes_two", take, check, reason="nothing else", second=theatre_team)
    taken = take(check, reason="nothing else", second=coordinator)
    assert taken.second == coordinator.user
    # The hold stays: the tray is no more sterile than it was.
    assert stage(other) == Stage.QUARANTINE
    assert "BASE/2" in case_record(of.case).trays


def test_a_tray_past_its_date_is_no_sterile_tray_afterwards(
    of, stopped, take, coordinator, theatre_team
):
    tray = factories.tray(of.tray.version, "BASE/3", sterile_until=NOW - timedelta(days=1))
    check = stopped("BASE/3")
    assert check.reason["code"] == "sterile date is over"
    take(check, reason="nothing else", second=coordinator)
    assert stage(tray) == Stage.IN_THEATRE


def test_a_box_is_no_tray(of, theatre_team, take):
    check = check_label(case=of.case, text="ELSE-32", by=theatre_team, now=NOW)
    refused("tray_not_named", take, check, reason="needed")


def test_a_tray_in_theatre_whose_load_is_withdrawn_stops(
    of, site, stopped, take, coordinator, theatre_team
):
    """Whoever scans it again is not told that nothing has changed."""
    machine = Machine.objects.create(
        site=site, code="S1", kind=MachineKind.STERILISER, places=4, cycle_minutes=60
    )
    by = {f"{act}_by": coordinator.user for act in ("started", "closed", "released")}
    at = {f"{act}_at": NOW for act in ("opened", "started", "closed", "released")}
    load = Load.objects.create(machine=machine, number=7, state="released", **at, **by)
    of.tray.packs.create(number=1, first_seq=of.tray.seq, packed_at=NOW, load=load)
    for word in ("MATCHES LIST", "ALREADY SCANNED"):
        made = check_label(case=of.case, text="BASE/1", by=theatre_team, now=NOW)
        assert made.answer == word
    Load.objects.filter(pk=load.pk).update(
        state="withdrawn", said="late leak", withdrawn_at=NOW, withdrawn_by=coordinator.user
    )
    check = stopped("BASE/1")
    assert check.reason["code"] == "load withdrawn"
    assert check.reason["read"] == "tray BASE/1, of load S1-7, withdrawn: late leak"
    assert [line.standing for line in in_theatre(of.case).trays] == [
        "in theatre: its load failed or was withdrawn"
    ]
    refused("opening_takes_two", take, check, reason="wound is open")
    assert take(check, reason="wound is open", second=coordinator).second == coordinator.user
