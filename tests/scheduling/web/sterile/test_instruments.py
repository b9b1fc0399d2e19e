"""Instruments between trays, by scan alone; what was in quarantine is signed for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import PIN, Bench
from trays.models import InstrumentEntry, Tray
from trays.stages import Stage


@pytest.fixture
def short(tray: Tray) -> Tray:
    """At cleaning, without its reamer 14."""
    short = factories.tray(tray.version, "BASE/2", stage=Stage.CLEANING, ready_at=factories.NOW)
    reamer = tray.version.contents.get(instrument__ref="R14").instrument
    short.missing_lines.create(instrument=reamer)
    return short


@pytest.fixture
def full(tray: Tray) -> Tray:
    return factories.tray(tray.version, "BASE/3", stage=Stage.CLEANING, ready_at=factories.NOW)


def test_borrowed_and_put_back_by_scan(bench: Bench, short: Tray, full: Tray) -> None:
    assert bench.at("bench").scan("i") is None
    bench.scan("2")
    bench.scan("BASE/3")
    assert "Borrowed: from BASE/3" in words_of(bench.page)
    assert bench.scan("R14")[:1] == ("STOP",)
    bench.scan("BASE/2")
    assert bench.scan("R14") == ("MOVED", "reamer, Ø 14 mm (R14) to tray BASE/2")
    assert "missing from tray BASE/3 now" in words_of(bench.page)
    assert bench.scan("BASE/1") == ("STOP", "Both sides are said. Type < to begin anew.")
    assert "1 × reamer, Ø 14 mm R14 BASE/3 borrowed by BASE/2" in words_of(bench.page)
    assert "borrowed from BASE/3" in words_of(bench.at("tray_at_bench", short.pk).page)
    assert "lent to BASE/2" in words_of(bench.at("count_tray", full.pk).page)
    bench.at("instruments").scan("5")
    bench.scan("BASE/3")
    assert bench.scan("R14")[0] == "MOVED"
    assert "Every instrument is in its own tray." in words_of(bench.page)
    assert list(short.missing_lines.values_list("instrument__ref", flat=True)) == ["R14"]


def test_what_is_in_quarantine_comes_back_with_a_reason_and_a_signature(
    bench: Bench, full: Tray
) -> None:
    bench.at("instruments").scan("3")
    bench.scan("BASE/3")
    assert bench.scan("R14") == ("OUT", "reamer, Ø 14 mm (R14): infection quarantine")
    entry = InstrumentEntry.objects.get()
    bench.scan("5")
    bench.scan("BASE/3")
    assert bench.scan("R14")[1].startswith("It is out of its tray (infection quarantine)")
    bench.post(put_back=entry.pk, note="cleared")
    assert 'value="cleared"' in bench.page.content.decode()
    assert "Not signed" in words_of(bench.page)
    bench.post(put_back=entry.pk, note="cleared", signed_with=PIN)
    assert not full.missing_lines.exists()


def test_an_instrument_that_is_not_there_is_a_stop(bench: Bench, full: Tray, short: Tray) -> None:
    bench.at("instruments").scan("4")
    bench.scan("BASE/2")
    assert bench.scan("R14") == ("STOP", "Tray BASE/2 has no more of R14.")
    bench.scan("<")
    assert bench.scan("nonsense")[0] == "STOP"


def test_only_sterile_services_move_instruments(
    full: Tray, theatre_team: Person, client_of: Callable[[Person], Client]
) -> None:
    assert client_of(theatre_team).get(reverse("instruments")).status_code == 403


def test_another_sites_tray_is_not_taken(
    bench: Bench, full: Tray, stranger: Person, site: Site
) -> None:
    other = factories.tray(
        factories.configuration(stranger.site),
        "THEIRS/1",
        stage=Stage.CLEANING,
        ready_at=factories.NOW,
    )
    assert bench.at("instruments").scan(other.code)[0] == "STOP"


def test_the_queries_do_not_grow_with_what_is_away(
    bench: Bench, full: Tray, django_assert_max_num_queries: Any
) -> None:
    bench.at("instruments").scan("4")
    bench.scan("BASE/3")
    for ref in ("R12", "R14", "HANDLE"):
        bench.scan(ref)
    with django_assert_max_num_queries(12):
        bench.client.get(reverse("instruments"))
