"""Configurations with their count sheets, and trays, in the admin."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from tests import factories
from tests.admin_forms import NO_PARTS, send
from trays.hold_kinds import HoldKind
from trays.models import Configuration, Instrument, Tray
from trays.operations.holds import hold_for
from trays.stages import Stage


@pytest.fixture
def browser(client_of, coordinator) -> Client:
    return client_of(coordinator)


BASE = {"code": "BASE", "kind": "base", "turnaround_minutes": 360, "fast_track_minutes": ""}


@pytest.fixture
def reamers(site) -> list[Instrument]:
    return [factories.instrument(site, f"R{size}", diameter=size) for size in (12, 13, 14)]


def sheets() -> list[list[tuple[str, int]]]:
    return [
        list(version.contents.values_list("instrument__ref", "quantity"))
        for version in Configuration.objects.get().versions.all()
    ]


def test_a_changed_count_sheet_is_a_new_version(browser, reamers, coordinator):
    assert not send(browser, "trays_configuration_add", **BASE, count_sheet="R13\nR12 × 2\n")
    change = ("trays_configuration_change", Configuration.objects.get().pk)
    assert not send(browser, *change, **BASE | {"name": "Base set"}, count_sheet="R13\nR12 × 2")
    assert sheets() == [[("R13", 1), ("R12", 2)]]
    assert not send(browser, *change, **BASE, count_sheet="R12 × 2\nR13\nR14")
    assert sheets() == [[("R13", 1), ("R12", 2)], [("R12", 2), ("R13", 1), ("R14", 1)]]
    newest = Configuration.objects.get().versions.last()
    assert (newest.made_by, newest.made_at) == (coordinator.user, factories.NOW)


def test_a_count_sheet_with_faults_is_refused_with_all_of_them(browser, reamers):
    faults = send(
        browser,
        "trays_configuration_add",
        **BASE | {"fast_track_minutes": 361},
        count_sheet="R12\nR99\nR12\nR13 × 0",
    )
    assert faults == [
        "not more than the standard turnaround",
        "line 2: there is no instrument R99",
        "line 3: R12 has a line already",
        "line 4: R13: 1 or more, or no line",
    ]
    assert not Configuration.objects.exists()


def test_a_supplementary_pack_holds_a_single_instrument(browser, reamers):
    assert send(
        browser,
        "trays_configuration_add",
        **BASE | {"kind": "supplementary"},
        count_sheet="R12\nR13",
    ) == ["a supplementary pack holds a single instrument"]


@pytest.fixture
def version(site, reamers):
    return factories.configuration(site, contents={reamers[0]: 1, reamers[1]: 2})


def new_tray(version, **values: Any) -> dict[str, Any]:
    return {
        "code": "BASE/1",
        "configuration": version.configuration.pk,
        "stage": Stage.STERILE_STORE,
        "ready_at_0": "2027-03-01",
        "ready_at_1": "06:00",
        "owner": "owned",
        "missing_lines-TOTAL_FORMS": 1,
        "missing_lines-0-instrument": "",
        "missing_lines-0-quantity": 1,
    } | values


def test_a_tray_is_of_the_sheet_in_force_and_says_what_it_lacks(browser, version, reamers):
    missing = {"missing_lines-0-instrument": reamers[1].pk, "missing_lines-0-quantity": 2}
    assert not send(browser, "trays_tray_add", **new_tray(version, **missing))
    tray = Tray.objects.get()
    assert (tray.version, tray.asset) == (version, "0299999BASE/1")
    assert list(tray.missing_lines.values_list("instrument__ref", "quantity")) == [("R13", 2)]
    assert "2 × R13" in browser.get(reverse("admin:trays_tray_changelist")).text


@pytest.mark.parametrize(("ref", "quantity", "holds"), [("R13", 3, 2), ("R14", 1, 0)])
def test_a_tray_cannot_lack_what_its_sheet_does_not_have(browser, version, ref, quantity, holds):
    instrument = Instrument.objects.get(ref=ref)
    missing = {
        "missing_lines-0-instrument": instrument.pk,
        "missing_lines-0-quantity": quantity,
    }
    assert send(browser, "trays_tray_add", **new_tray(version, **missing)) == [
        f"the count sheet has {holds} of {ref}"
    ]
    assert not Tray.objects.exists()


def test_a_tray_stays_with_its_sheet_until_it_is_assembled_again(browser, version, reamers):
    tray = factories.tray(version)
    newer = version.configuration.versions.create(number=2, made_at=factories.NOW)
    newer.contents.create(instrument=reamers[0])
    change = ("trays_tray_change", tray.pk)
    assert not send(browser, *change, **new_tray(version, location="Shelf 1"))
    tray.refresh_from_db()
    assert (tray.version, tray.location) == (version, "Shelf 1")
    assert not send(browser, *change, **new_tray(version, assembled_to_sheet_in_force="on"))
    tray.refresh_from_db()
    assert tray.version == newer


@pytest.mark.parametrize(
    ("values", "fault"),
    [
        ({"ready_at_0": "", "ready_at_1": ""}, "when it is, or was, sterile and released"),
        (
            {"stage": Stage.QUARANTINE, "hold_kind": "wet pack"},
            "a tray that is in “quarantine” has no ready time",
        ),
        (
            {"expected_at_0": "2027-03-02", "expected_at_1": "09:00"},
            "only a tray “with supplier” is expected",
        ),
    ],
)
def test_a_tray_is_ready_or_awaited_or_on_hold(browser, version, values, fault):
    assert send(browser, "trays_tray_add", **new_tray(version, **values)) == [fault]


def test_a_stage_is_a_movement_and_only_one_that_may_follow(browser, version, coordinator):
    tray = factories.tray(version)
    change = ("trays_tray_change", tray.pk)
    issued = new_tray(version, stage=Stage.ISSUED, seq=1)
    assert not send(browser, *change, **issued)
    tray.refresh_from_db()
    assert (tray.stage, tray.seq) == ("issued", 2)
    assert tray.movements.get(seq=2).by == coordinator.user
    assert send(browser, *change, **new_tray(version, stage=Stage.STERILISING, seq=2)) == [
        "Select a valid choice. sterilising is not one of the available choices."
    ]


def test_saving_a_tray_leaves_its_stage_alone(browser, version):
    tray = factories.tray(version)
    same = {"ready_at_0": "2027-03-01", "ready_at_1": "07:00", "seq": 1}
    assert not send(browser, "trays_tray_change", tray.pk, **new_tray(version, note="new", **same))
    tray.refresh_from_db()
    assert (tray.note, tray.seq) == ("new", 1)


def test_a_form_that_is_older_than_the_tray_is_refused(browser, version, coordinator):
    tray = factories.tray(version)
    hold_for(tray=tray, kind=HoldKind.WET, by=coordinator, now=factories.NOW)
    old = new_tray(version, stage=Stage.CLEANING, seq=1)
    page = reverse("admin:trays_tray_change", args=[tray.pk])
    answer = browser.post(page, NO_PARTS | old, follow=True)
    assert "BASE/1 was changed by someone else meanwhile." in answer.text


class TestOnHold:
    @pytest.fixture
    def change(self, browser, version):
        """Send the page of a tray in the store with another stage; the faults that come back."""
        tray = factories.tray(version)
        at = {"ready_at_0": "", "ready_at_1": "", "seq": 1}

        def do(**said):
            page = ("trays_tray_change", tray.pk)
            return send(browser, *page, **new_tray(version, **at, **said)), tray

        return do

    def test_says_of_a_list_why(self, change):
        faults, _ = change(stage=Stage.QUARANTINE, reason="wet")
        assert faults == ["why it is held: one of these"]
        faults, tray = change(stage=Stage.QUARANTINE, hold_kind=HoldKind.WET, reason="a corner")
        tray.refresh_from_db()
        assert (faults, tray.stage) == ([], "quarantine")
        assert tray.holds.get().kind == HoldKind.WET
        assert tray.movements.get(seq=2).reason == "wet pack: a corner"

    def test_what_is_in_repair_is_held_for_a_repair(self, change):
        wrong, _ = change(stage=Stage.QUARANTINE, hold_kind=HoldKind.REPAIR)
        assert wrong == ["a tray held for this is in “repair”"]
        right, tray = change(stage=Stage.REPAIR, hold_kind=HoldKind.REPAIR)
        assert (right, tray.holds.get().kind) == ([], HoldKind.REPAIR)

    def test_a_new_tray_too(self, browser, version):
        new = new_tray(version, stage=Stage.QUARANTINE, ready_at_0="", ready_at_1="")
        assert send(browser, "trays_tray_add", **new) == ["why it is held: one of these"]
        assert not send(browser, "trays_tray_add", **new, hold_kind=HoldKind.SEAL)
        assert Tray.objects.get().holds.get().kind == HoldKind.SEAL
