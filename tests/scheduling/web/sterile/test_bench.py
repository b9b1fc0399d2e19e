"""Stages by scan: the tray moves where it may, else STOP with where it is and what may follow."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.credentials import set_pin
from deploy.kit.models import Person, Site
from scheduling.models import Case
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import PIN, Bench
from trays.models import Load, Tray
from trays.stages import Stage
from trays.stations import STATIONS

pytestmark = pytest.mark.usefixtures("machines")


def stage_of(tray: Tray) -> str:
    tray.refresh_from_db()
    return tray.stage


def test_a_station_is_chosen_by_number_by_its_code_and_a_machine_by_its_own(bench: Bench) -> None:
    assert bench.at("bench").scan("7") is None
    assert bench.path == "/bench/issue/"
    bench.at("bench").scan("https://house.example/bench/packing/")
    assert bench.path == "/bench/packing/"
    bench.at("bench").scan("w1")
    assert bench.path == f"/loads/{Load.objects.get().pk}/"
    assert bench.at("bench").scan("nonsense")[0] == "STOP"


def test_a_tray_goes_to_its_case_and_back(bench: Bench, tray: Tray, case: Case) -> None:
    assert bench.at("bench_station", "issue").scan(tray.code)[1].startswith("For which case?")
    assert bench.scan("c1") is None
    assert bench.path == "/bench/issue/?said=C1"
    assert bench.scan(tray.code) == ("MOVED", "now issued to case C1")
    assert bench.scan(tray.asset)[0] == "ALREADY SCANNED"
    assert bench.at("bench_station", "theatre").scan(tray.code) == ("MOVED", "now in theatre")
    bench.scan("http://testserver/bench/returned/")
    assert bench.scan(tray.code) == ("MOVED", "now returned used")
    assert (stage_of(tray), tray.case_ref) == ("returned used", "C1")


@pytest.fixture
def back(bench: Bench, tray: Tray, case: Case) -> Tray:
    """A tray that has just come back from theatre, scanned at the station."""
    bench.at("bench_station", "issue").scan("C1")
    bench.scan(tray.code)
    bench.at("bench_station", "returned").scan(tray.code)
    return tray


def test_theatres_note_rides_along_until_the_tray_is_packed(bench: Bench, back: Tray) -> None:
    assert "BASE/1: theatre says" in words_of(bench.page)
    assert bench.post(from_theatre=back.code, note="the 14 is blunt")[0] == "NOTED"
    said = words_of(bench.at("bench_station", "cleaning").page)
    assert "Theatre: the 14 is blunt" in said
    assert "Theatre, case C1: the 14 is blunt. Sterile" in words_of(
        bench.at("tray_at_bench", back.pk).page
    )
    back.refresh_from_db()
    back.packs.create(number=1, first_seq=back.seq + 1, packed_at=factories.NOW)
    assert "blunt" not in words_of(bench.at("bench_station", "cleaning").page)
    assert "blunt" not in words_of(bench.at("tray_at_bench", back.pk).page)


def test_a_count_that_was_not_closed_holds_the_tray_until_a_named_person_closes_it(
    bench: Bench, back: Tray, theatre_team: Person, client_of: Callable[[Person], Client]
) -> None:
    assert bench.post(from_theatre=back.code)[1] == (
        "Tray BASE/1: say what theatre said, or that its count was not closed."
    )
    word, title = bench.post(from_theatre=back.code, count_open="on", note="one swab pin")
    assert (word, title.partition(".")[0]) == ("HELD", "Held: its count was not closed")
    assert stage_of(back) == "quarantine"
    bench.at("bench").scan("W1")
    assert bench.scan(back.code)[0] == "STOP"
    # Theatre counted: theatre may close it too, by name.
    set_pin(person=theatre_team, pin=PIN, by=None)
    path = reverse("tray_at_bench", args=[back.pk])
    form = {"act": "lift", "note": "under the drape", "signed_with": PIN}
    assert client_of(theatre_team).post(path, form).status_code == 302
    assert stage_of(back) == "cleaning"
    hold = back.holds.get()
    assert (hold.lifted_by, hold.lifted_note) == (theatre_team.user, "under the drape")


def test_stops_with_where_it_is_and_what_may_follow(bench: Bench, tray: Tray) -> None:
    assert bench.at("bench_station", "theatre").scan(tray.code)[0] == "STOP"
    said = words_of(bench.page)
    assert "Where it is sterile store; after it may follow: inspection and assembly, issued" in said
    assert f"Scanned tray {tray.code}, for in theatre" in said
    assert stage_of(tray) == "sterile store"


def test_stops_a_tray_that_another_case_has_reserved(
    bench: Bench, tray: Tray, case: Case, site: Site
) -> None:
    factories.promised_tray(factories.case(site, "C2"), tray)
    bench.at("bench_station", "issue").scan("C1")
    assert bench.scan(tray.code) == ("STOP", f"Tray {tray.code} is reserved for case C2.")


def test_stops_a_tray_of_a_kind_that_the_case_does_not_ask_for(
    bench: Bench, tray: Tray, site: Site
) -> None:
    technique = factories.technique(site)
    technique.sets.create(purpose="cup", options=[["CUP"]])
    case = factories.case(site, "C1", technique=technique)
    factories.configuration(site, "CUP")
    bench.at("bench_station", "issue").scan("C1")
    assert bench.scan(tray.code) == ("STOP", "Case C1 asks for no BASE.")
    said = words_of(bench.page)
    assert "Wanted CUP Scanned tray BASE/1, BASE If it is needed all the same, theatre" in said
    assert stage_of(tray) == "sterile store"
    factories.promised_tray(case, tray)
    assert bench.scan(tray.code)[0] == "MOVED"


def test_stops_a_tray_that_is_not_sterile_until_the_case_ends(
    bench: Bench, tray: Tray, case: Case
) -> None:
    old = factories.tray(tray.version, "BASE/8", sterile_until=case.end - timedelta(minutes=1))
    bench.at("bench_station", "issue").scan("C1")
    assert bench.scan(old.code)[0] == "STOP"
    said = words_of(bench.page)
    assert "The sterile date of tray BASE/8 comes before case C1 ends." in said
    assert "Wanted sterile until Tue 2 March 2027, 10:30 or later" in said
    assert "scan it at inspection and assembly" in said
    until_the_end = factories.tray(tray.version, "BASE/9", sterile_until=case.end)
    assert bench.scan(until_the_end.code)[0] == "MOVED"


def test_the_trays_of_the_case_are_listed_with_the_place_where_they_lie(
    bench: Bench, tray: Tray, case: Case
) -> None:
    bench.at("bench_station", "issue").scan("C1")
    assert "No list of it has been printed, and nothing is reserved" in words_of(bench.page)
    factories.promised_tray(case, tray)
    Tray.objects.filter(pk=tray.pk).update(location="R-01-2")
    bench.scan("C1")
    assert "Trays of case C1" in words_of(bench.page)
    assert "BASE/1 BASE sterile store R-01-2" in words_of(bench.page)
    bench.scan(tray.code)
    assert "BASE/1 BASE issued Here and coming" in words_of(bench.page)


def test_nothing_is_issued_to_a_case_that_is_over(bench: Bench, tray: Tray, case: Case) -> None:
    bench.at("bench_station", "issue").scan("C1")
    Case.objects.filter(pk=case.pk).update(status="cancelled")
    assert bench.scan(tray.code)[1].startswith("For which case?")


def test_a_held_tray_stops_with_why_and_with_the_way_to_its_page(bench: Bench, back: Tray) -> None:
    bench.post(from_theatre=back.code, count_open="on", note="one swab pin")
    assert bench.at("bench_station", "assembly").scan(back.code) == (
        "STOP",
        "Tray BASE/1 is on hold, in quarantine: count not closed: one swab pin.",
    )
    said = words_of(bench.page)
    assert "A named person lifts the hold on the tray’s page." in said
    assert "may follow" not in said
    assert reverse("tray_at_bench", args=[back.pk]) in bench.page.content.decode()


def test_theatres_note_can_be_given_at_the_second_scan_and_after_a_refusal(
    bench: Bench, back: Tray
) -> None:
    assert bench.post(from_theatre=back.code)[0] == "STOP"
    assert "BASE/1: theatre says" in words_of(bench.page)
    assert bench.at("bench_station", "returned").scan(back.code)[0] == "ALREADY SCANNED"
    assert "BASE/1: theatre says" in words_of(bench.page)
    bench.scan(factories.tray(back.version, "BASE/7").code)
    assert "theatre says" not in words_of(bench.page)


def test_says_what_is_scanned_first(bench: Bench) -> None:
    bench.at("bench_station", "issue").scan("OG-99")
    assert "Wanted a case that is not over, or its pick list; then its trays" in words_of(
        bench.page
    )
    bench.at("bench_station", "cleaning").scan("W99")
    assert "Wanted a washer, then its trays" in words_of(bench.page)


def test_stops_what_is_no_tray(bench: Bench) -> None:
    assert bench.at("bench_station", "returned").scan("nothing of ours")[0] == "STOP"


def test_is_put_at_a_place_that_was_said_first(bench: Bench, tray: Tray) -> None:
    assert bench.at("bench_station", "store").scan(tray.code) == ("STOP", "Say the place first.")
    assert bench.scan("R-01-2") is None
    assert bench.scan(tray.code) == ("MOVED", "now lies at R-01-2")


def test_a_used_tray_wants_its_washer_first(bench: Bench, site: Site) -> None:
    used = factories.tray(
        factories.configuration(site), stage=Stage.RETURNED_USED, ready_at=factories.NOW
    )
    assert bench.at("bench_station", "cleaning").scan(used.code)[0] == "STOP"
    bench.scan("W1")
    assert bench.scan(used.code) == ("MOVED", "now in load W1-1")


@pytest.mark.parametrize("slug", STATIONS)
def test_each_station_opens_for_whom_it_is_for(
    slug: str, theatre_team: Person, manager: Person, client_of: Callable[[Person], Client]
) -> None:
    path = reverse("bench_station", args=[slug])
    for_theatre = STATIONS[slug].permission == "trays.return_trays"
    assert client_of(theatre_team).get(path).status_code == (200 if for_theatre else 403)
    assert client_of(manager).get(path).status_code == 403


def test_another_sites_tray_is_no_tray_here(bench: Bench, stranger: Person, site: Site) -> None:
    elsewhere = factories.tray(factories.configuration(stranger.site), "THEIRS/1")
    assert bench.at("bench_station", "theatre").scan(elsewhere.code)[0] == "STOP"
    assert stage_of(elsewhere) == "sterile store"


def test_a_scan_costs_no_more_than_so_many_queries(
    bench: Bench, tray: Tray, django_assert_max_num_queries: Any
) -> None:
    bench.at("bench_station", "theatre")
    with django_assert_max_num_queries(30):
        bench.client.post(bench.path, {"text": tray.code})
