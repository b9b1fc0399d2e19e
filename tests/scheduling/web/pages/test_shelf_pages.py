"""The shelf as the coordinator walks along it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client

from deploy.kit.models import Person, Site
from implants.models import Credit, Implant, Unit
from implants.operations.par_levels import accept_par
from scheduling.models import Case
from tests import factories
from tests.scheduling.web.pages.test_views import words_of

STEM = "STEM-12-STAN-225"


@pytest.fixture
def desk(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


@pytest.fixture
def spare(site: Site) -> Unit:
    """A short-dated cup that no case is meant to use, of a supplier's."""
    cup = factories.implant(site, "CUP-50", "shell")
    cup.supplier = factories.supplier(site)
    cup.save()
    return factories.unit(cup, "X1", expiry=date(2026, 4, 30), lot="L9")


def test_whose_boxes_are_shown_apart(desk: Client, spare: Unit) -> None:
    assert "shell · 1 box, 0 free" in words_of(desk.get("/shelf/"))
    assert "shell · 0 boxes, 0 free" in words_of(desk.get("/shelf/?owner=consignment"))


def test_an_item_over_time(desk: Client, coordinator: Person, site: Site) -> None:
    implant = Implant.objects.get(site=site, ref=STEM)
    accept_par(implant=implant, level=3, by=coordinator, now=site.now())
    page = desk.get(f"/shelf/items/{STEM}/")
    said = words_of(page)
    assert "par level 3, order when what is here and on order is 2 or fewer" in said
    assert "What is planned does not run it short." in said
    assert "10 Mar 2026 A may want" in said
    assert 'class="stock__planned"' in page.content.decode()
    assert desk.get("/shelf/items/NO-SUCH/").status_code == 404


def test_an_item_that_runs_short_says_when(desk: Client, site: Site) -> None:
    others = Unit.objects.filter(site=site, implant__ref=STEM).order_by("code")[1:]
    for unit in others:
        factories.held(unit, "recalled")
    said = words_of(desk.get(f"/shelf/items/{STEM}/"))
    assert "Runs short on Tuesday 10 March 2026: 1 missing for what B plans." in said


def test_a_short_dated_box_goes_back_for_a_credit(desk: Client, spare: Unit) -> None:
    said = words_of(desk.get("/shelf/use-by/"))
    assert "30 Apr 2026 52 days left shell X1 · LOT L9 · owned" in said
    sent = {"box": "1|X1", "reason": "short-dated", "credit": "on"}
    assert "Gone back: X1." in words_of(desk.post("/shelf/send-back/", sent, follow=True))
    credit = Credit.objects.get()
    said = words_of(desk.get("/orders/"))
    assert "Credits to come" in said
    assert "X1 · LOT L9 Maker North short-dated" in said
    desk.post(f"/credits/{credit.pk}/", {"number": "CN 5"})
    assert "Credits to come" not in words_of(desk.get("/orders/"))


def test_what_somebody_moved_meanwhile_stays(desk: Client, spare: Unit) -> None:
    sent = {"box": "0|X1", "reason": "short-dated"}
    said = words_of(desk.post("/shelf/send-back/", sent, follow=True))
    assert "X1 was changed by someone else meanwhile" in said
    assert "Choose at least one box." in words_of(desk.post("/shelf/send-back/", follow=True))
    spare.refresh_from_db()
    assert spare.state == "on the shelf"


def test_a_box_taken_at_night_is_entered_late(desk: Client, site: Site) -> None:
    box = Unit.objects.filter(site=site, implant__ref=STEM).order_by("code")[0]
    sent = {"box": f"{box.seq}|{box.code}", "case": "A", "who": "night team, 02:10"}
    said = words_of(desk.post("/shelf/taken/", sent, follow=True))
    assert f"{box.code} is picked for case A." in said
    entry = box.movements.latest("seq")
    assert (entry.case_ref, entry.reason) == (
        "A",
        "entered late; taken by night team, 02:10",
    )
    assert "changed by someone else" in words_of(desk.post("/shelf/taken/", sent, follow=True))
    assert desk.post("/shelf/taken/", {**sent, "case": "NONE"}).status_code == 404


def test_a_late_entry_breaks_no_other_cases_promise(desk: Client, site: Site) -> None:
    box = Unit.objects.filter(site=site, implant__ref=STEM).order_by("code")[0]
    factories.promised_unit(Case.objects.get(ref="B"), box)
    sent = {"box": f"{box.seq}|{box.code}", "case": "A", "who": "night team"}
    said = words_of(desk.post("/shelf/taken/", sent, follow=True))
    assert f"Box {box.code} is reserved for case B." in said


def test_who_may_only_read_sends_nothing_back(
    manager: Person, spare: Unit, client_of: Callable[[Person], Client]
) -> None:
    reads = client_of(manager)
    assert "have gone back" not in words_of(reads.get("/shelf/use-by/"))
    assert reads.post("/shelf/send-back/", {"box": "1|X1"}).status_code == 403
    assert reads.post("/shelf/taken/", {"box": "1|X1"}).status_code == 403


def test_a_surgeon_sees_the_grid_and_no_case(
    surgeon: Person, client_of: Callable[[Person], Client]
) -> None:
    reads = client_of(surgeon)
    assert "/shelf/items/" not in reads.get("/shelf/").content.decode()
    for path in ("/shelf/use-by/", f"/shelf/items/{STEM}/"):
        assert reads.get(path).status_code == 403


def test_costs_a_fixed_number_of_queries(
    desk: Client, spare: Unit, django_assert_num_queries: Any
) -> None:
    for path, queries in ((f"/shelf/items/{STEM}/", 27), ("/shelf/use-by/", 27)):
        with django_assert_num_queries(queries):
            desk.get(path)
