"""A tray is held at the bench, free ones of its kind are offered, and it is lifted by name."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import PIN, Bench
from trays.models import Tray


def test_a_rejected_pack_is_held_and_free_trays_are_compared_line_by_line(
    bench: Bench, tray: Tray, site: Site
) -> None:
    technique = factories.technique(site)
    technique.sets.create(purpose="femur", options=[["BASE"]])
    technique.rules.create(role="reamer", need="planned", select={"diameter": 12})
    factories.case(site, "C1", technique=technique)
    other = factories.tray(tray.version, "BASE/2")
    other.missing_lines.create(instrument=tray.version.contents.all()[0].instrument)
    factories.tray(tray.version, "BASE/3")
    bench.at("bench_station", "issue").scan("C1")
    bench.scan(tray.code)
    bench.at("tray_at_bench", tray.pk).post(act="hold", kind="indicator unchanged", note="corner")
    said = words_of(bench.page)
    assert "Held: indicator unchanged corner. For case C1." in said
    assert "Line by line, as case C1 asks for it." in said
    # BASE/3 lacks nothing, so it stands first; the case asks for reamer 12 and no other line.
    assert "In all has every line 1 line short" in said
    assert "reamer, Ø 12 mm R12 1 1 lacks" in said
    assert "R14" not in said.partition("In all")[2].partition("History")[0]
    bench.post(act="lift", note="packed anew")
    assert "Nothing was changed. Not signed" in words_of(bench.page)
    assert 'value="packed anew"' in bench.page.content.decode()
    bench.post(act="lift", note="packed anew", signed_with=PIN)
    tray.refresh_from_db()
    # The clock begins anew: it goes through the whole cycle.
    assert (tray.stage, tray.ready_at) == ("cleaning", factories.NOW + timedelta(minutes=360))


def test_without_a_case_the_sheet_is_compared_and_without_a_tray_that_is_said(
    bench: Bench, tray: Tray
) -> None:
    bench.at("tray_at_bench", tray.pk).post(act="hold", kind="wet pack")
    assert "No other tray of this kind is in the sterile store." in words_of(bench.page)
    factories.tray(tray.version, "BASE/3")
    said = words_of(bench.at("tray_at_bench", tray.pk).page)
    assert "by the sheet: no case is on record" in said
    assert "handle HANDLE 2 2" in said


def test_a_form_that_is_too_old_changes_nothing(bench: Bench, tray: Tray) -> None:
    bench.at("tray_at_bench", tray.pk).post(act="hold", kind="wet pack", seq=tray.seq - 1)
    assert "was changed by someone else meanwhile" in words_of(bench.page)
    tray.refresh_from_db()
    assert tray.stage == "sterile store"


def test_a_day_that_is_none_is_named(bench: Bench, tray: Tray) -> None:
    bench.at("tray_at_bench", tray.pk).post(act="hold", kind="repair", back_on="soon")
    assert "back on: a day as 2027-03-05, not “soon”" in words_of(bench.page)
    bench.post(act="hold", kind="repair", note="handpiece", back_on="2027-02-28")
    assert "Nothing was changed. back on: today or later" in words_of(bench.page)
    kept = bench.page.content.decode()
    assert 'value="handpiece"' in kept
    assert 'value="repair" checked' in kept
    tray.refresh_from_db()
    assert tray.stage == "sterile store"


def test_theatre_may_hold_and_not_lift_the_reader_neither(
    tray: Tray, theatre_team: Person, manager: Person, client_of: Callable[[Person], Client]
) -> None:
    path = reverse("tray_at_bench", args=[tray.pk])
    assert client_of(manager).get(path).status_code == 200
    assert client_of(manager).post(path, {"act": "hold", "kind": "wet pack"}).status_code == 403
    theatre = client_of(theatre_team)
    assert theatre.post(path, {"act": "hold", "kind": "wet pack"}).status_code == 302
    assert theatre.post(path, {"act": "lift", "note": "dry"}).status_code == 403
    tray.refresh_from_db()
    assert tray.stage == "quarantine"


def test_another_sites_tray_is_not_there(
    tray: Tray, stranger: Person, client_of: Callable[[Person], Client]
) -> None:
    assert client_of(stranger).get(reverse("tray_at_bench", args=[tray.pk])).status_code == 404
