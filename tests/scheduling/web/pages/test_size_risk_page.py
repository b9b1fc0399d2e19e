"""Size risk as the coordinator sees it: a range with its basis, beside no verdict."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from deploy.kit.models import Person, Site
from implants.models import Implant
from scheduling.models import Case, SizeDifference, Surgeon
from tests import factories
from tests.scheduling.size_risk.house_record import least, past_cases
from tests.scheduling.web.pages.test_views import words_of

# On twenty of thirty cases as planned, on six a size larger, on four a size smaller.
SIZES = [(11, 11)] * 20 + [(11, 12)] * 6 + [(12, 11)] * 4
BASIS = "as planned 20 of 30, 1 size larger 6, 1 size smaller 4"
VERDICTS = re.compile(r"not covered|not known|at risk|covered, no spare|\bcovered\b", re.IGNORECASE)


@pytest.fixture
def desk(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


@pytest.fixture
def stems(site: Site) -> dict[int, Implant]:
    """A line of its own: sizes 11 to 13, a box of 11 and two of 12; C1 plans 11, C2 plans 12."""
    made = {
        size: factories.implant(site, f"Q-{size}", size=size, system="Q", offset="high")
        for size in (11, 12, 13)
    }
    for code, size in (("Q1", 11), ("Q2", 12), ("Q3", 12)):
        factories.unit(made[size], code)
    technique = factories.technique(site, "STEM-Q")
    for number, size in ((1, 11), (2, 12)):
        factories.case(
            site,
            f"Q-C{number}",
            start=site.now() + timedelta(days=number),
            technique=technique,
            components={"stem": {"system": "Q", "size": size}},
        )
    return made


@pytest.fixture
def record(site: Site, stems: dict[int, Implant], surgeon: Person) -> None:
    past_cases(site, stems, SIZES, surgeon.user.surgeon, system="Q")


def accept(desk: Client, surgeon: str = "") -> Any:
    """What is proposed first: the line's record, once it is in force the surgeon's."""
    page = desk.get("/size-risk/").content.decode()
    seen = re.search(r'name="seen" value="([^"]*)"', page)
    assert seen is not None, "nothing is proposed"
    said = {"role": "stem", "system": "Q", "seen": seen[1].replace("&quot;", '"')}
    said["surgeon"] = surgeon
    return desk.post("/size-risk/accept/", said, follow=True)


@pytest.mark.usefixtures("stems")
def test_without_enough_cases_there_is_no_figure_and_the_assumption_is_marked(
    desk: Client,
) -> None:
    said = words_of(desk.get("/size-risk/"))
    assert (
        "Stem Q No figure: 0 of 30 cases on record. Until there are enough, only an assumption "
        "could stand in, not this house’s record and without a source: as planned 52 %, "
        "1 size larger 19 %, 1 size smaller 19 %, 2 sizes larger 5 %, 2 sizes smaller 5 %." in said
    )
    assert "2 booked cases planned on this line." in said
    assert "next best boxes" not in said
    assert "on average" not in said


@pytest.mark.usefixtures("record")
def test_with_enough_cases_nothing_counts_before_a_person_accepts(desk: Client) -> None:
    said = words_of(desk.get("/size-risk/"))
    assert "No figure yet: the record holds enough cases, but nobody has accepted" in said
    assert f"Proposed from the record: {BASIS}." in said
    assert "The record: 30 cases, planned against used" in said
    assert "on average" not in said


@pytest.mark.usefixtures("record")
def test_accepted_each_case_has_a_range_with_its_basis(desk: Client) -> None:
    said = words_of(accept(desk))
    assert "In force from now on for stem Q." in said
    assert f"Rests on: {BASIS}. Accepted by" in said
    # C1 has box 11 by 20 of 30 and a 12 by 6 of 30, and finds no size under 11.
    assert "Q-C1" in said
    assert "11 1 73 to 94 %" in said
    assert "The next best boxes to buy" in said
    assert "Proposed from the record:" not in said
    assert "30 cases of the line" in said
    kept = SizeDifference.objects.get()
    assert (kept.record, kept.by.username) == ({"-1": 4, "0": 20, "1": 6}, "coordinator")


@pytest.mark.usefixtures("record")
def test_a_surgeon_with_enough_cases_of_their_own_rests_on_these(desk: Client, site: Site) -> None:
    Case.objects.filter(ref="Q-C1").update(surgeon=Surgeon.objects.get())
    accept(desk)
    said = words_of(accept(desk, "Surgeon One"))
    assert "In force from now on for Surgeon One on stem Q." in said
    assert f"For Surgeon One: {BASIS}. Accepted by" in said
    assert "Proposed from the record" not in said
    assert "30 cases of Surgeon One" in said
    assert "30 cases of the line" in said
    newest = SizeDifference.objects.last()
    assert newest is not None
    assert (newest.surgeon, newest.role) == (Surgeon.objects.get(), "stem")


@pytest.mark.usefixtures("record")
def test_no_verdict_stands_beside_it(desk: Client) -> None:
    page = accept(desk).content.decode()
    assert "verdict--" not in page.split("<main", 1)[1].split("</main>", 1)[0]
    main = words_of(desk.get("/size-risk/")).replace("it changes no verdict", "")
    assert not VERDICTS.search(main)


@pytest.mark.usefixtures("record")
def test_it_changes_no_verdict(desk: Client) -> None:
    before = words_of(desk.get("/cases/"))
    accept(desk)
    assert words_of(desk.get("/cases/")) == before


def test_what_was_looked_at_is_what_is_accepted(
    desk: Client, site: Site, stems: dict[int, Implant], record: None
) -> None:
    said = {"role": "stem", "system": "Q", "seen": '{"0": 3}'}
    answer = words_of(desk.post("/size-risk/accept/", said, follow=True))
    assert "The record of stem Q is another by now. Look at it again first" in answer
    nonsense = {"role": "stem", "system": "Q", "seen": "[1"}
    assert "is another by now" in words_of(desk.post("/size-risk/accept/", nonsense, follow=True))
    assert not SizeDifference.objects.exists()


@pytest.mark.usefixtures("record")
def test_a_minimum_of_the_houses_own(desk: Client, site: Site) -> None:
    accept(desk)
    least(site, 31)
    said = words_of(desk.get("/size-risk/"))
    assert "No figure: 30 of 31 cases on record." in said
    assert "Rests on" not in said
    assert "on average" not in said


def test_only_the_coordinator_sees_it(
    manager: Person, surgeon: Person, client_of: Callable[[Person], Client]
) -> None:
    for other in (manager, surgeon):
        assert client_of(other).get("/size-risk/").status_code == 403
    assert "Size risk" not in words_of(client_of(manager).get("/par-levels/"))


@pytest.mark.usefixtures("record")
def test_costs_a_fixed_number_of_queries(desk: Client, django_assert_num_queries: Any) -> None:
    accept(desk)
    with django_assert_num_queries(27):
        desk.get("/size-risk/")
