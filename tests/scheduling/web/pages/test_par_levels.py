"""Par levels as the coordinator reads and accepts them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from deploy.kit.models import Person, Site
from implants.models import Implant, ParLevel, Unit
from implants.operations.theatre import record_implanted
from tests.scheduling.web.pages.test_views import words_of

STEM = "STEM-11-STAN-225"


@pytest.fixture
def used(site: Site, coordinator: Person) -> None:
    """One stem with a lead time was used today, the only day that the ledger knows."""
    Implant.objects.filter(site=site, ref=STEM).update(lead_days=1)
    Implant.objects.filter(site=site).exclude(ref=STEM).update(lead_days=None)
    box = Unit.objects.filter(site=site, implant__ref=STEM).first()
    assert box is not None
    record_implanted(unit=box, case_ref="Z9", by=coordinator, now=site.now())


@pytest.fixture
def desk(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


def test_every_figure_explains_itself(desk: Client, used: None) -> None:
    said = words_of(desk.get("/par-levels/?rate=ready&target=99"))
    assert "The ledger knows 1 day of it." in said
    assert "1 used in 1 days implanted, wasted or lost, by the ledger" in said
    assert "Longest wait 3 d 19 h" in said
    assert "Ready rate 99 % asks for" in said
    assert "the smallest S with P(X ≤ S) that high" in said


def test_a_person_puts_a_level_in_force(desk: Client, used: None) -> None:
    chosen = {"item": STEM, f"level {STEM}": "4", "target": "98"}
    answer = desk.post("/par-levels/accept/", chosen, follow=True)
    assert answer.redirect_chain[0][0] == "/par-levels/?rate=fill&target=98&years=2"
    assert f"In force from now on: {STEM}." in words_of(answer)
    level = ParLevel.objects.get()
    assert (level.level, level.by.username) == (4, "coordinator")
    assert "fill rate 98 % asks for" in level.basis


def test_all_of_the_chosen_or_none(desk: Client, used: None) -> None:
    chosen = {"item": [STEM, "NO-SUCH"], f"level {STEM}": "4", "level NO-SUCH": "1"}
    answer = desk.post("/par-levels/accept/", chosen, follow=True)
    assert "NO-SUCH: a level is a number." in words_of(answer)
    assert "Choose at least one level." in words_of(desk.post("/par-levels/accept/", follow=True))
    assert not ParLevel.objects.exists()


def test_who_may_only_read_accepts_nothing(
    manager: Person, used: None, client_of: Callable[[Person], Client]
) -> None:
    reads = client_of(manager)
    assert "Put the chosen levels in force" not in words_of(reads.get("/par-levels/"))
    assert reads.post("/par-levels/accept/", {"item": STEM}).status_code == 403


def test_costs_a_fixed_number_of_queries(
    desk: Client, used: None, django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(32):
        desk.get("/par-levels/")
