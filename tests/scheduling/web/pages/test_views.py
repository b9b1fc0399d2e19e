"""What the pages say about one house, and what they cost."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from scheduling.models import Case, CaseStatus
from tests import factories
from trays.models import Tray

AS_OF = "as of 09:00, Mon 9 Mar"
CAUTION = "check the physical tray, label, use-by date and indicator."
NOT_REAL = "This site’s clock is set to 09:00 on Monday 9 March 2026."


def words_of(answer: Any) -> str:
    """The page as a person reads it: no tags, single spaces."""
    text = re.sub(r"<(script|svg|title).*?</\1>|<[^>]+>", " ", answer.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", text).replace(" ,", ",").replace(" .", ".")


@pytest.fixture
def manager_reads(manager: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(manager)


@pytest.mark.parametrize(
    "path", ["/needed-next/", "/to-order/", "/shelf/", "/cases/", "/days/2026-03-10/"]
)
def test_every_page_says_as_of_when_and_the_cautions(
    path: str, manager_reads: Client, case_a: Case, case_b: Case
) -> None:
    said = words_of(manager_reads.get(path))
    assert AS_OF in said
    assert CAUTION in said
    assert "Decision support for stock and readiness." in said
    assert NOT_REAL in said


def test_no_browser_keeps_a_verdict(manager_reads: Client, case_a: Case) -> None:
    """Going back, or the next person on a shared PC, must not meet an old page."""
    assert "no-store" in manager_reads.get("/cases/").headers["Cache-Control"]


def test_a_real_clock_is_not_talked_about(manager_reads: Client, case_a: Case) -> None:
    case_a.site.clock_set_to = None
    case_a.site.save()
    assert "Not the real time" not in words_of(manager_reads.get("/cases/"))


def test_all_cases_one_line_each_with_the_worst_gap(
    manager_reads: Client, case_a: Case, case_b: Case
) -> None:
    said = words_of(manager_reads.get("/cases/"))
    assert "1 Not covered 1 Covered" in said
    assert "08:30 Theatre 1 A Covered LEFT · REVISION-STEM" in said
    assert "16:30 Theatre 1 B Not covered LEFT · REVISION-STEM" in said
    assert "Surgeon Two No set for femoral preparation. There is no tray of STAND." in said


def test_a_surgeon_reads_the_own_cases_only(
    surgeon: Person, case_a: Case, case_b: Case, client_of: Callable[[Person], Client]
) -> None:
    said = words_of(client_of(surgeon).get("/your-cases/"))
    assert "A Covered LEFT" in said
    assert "16:30" not in said


def test_a_case_that_is_not_covered_names_cause_and_consequence(
    manager_reads: Client, case_b: Case
) -> None:
    said = words_of(manager_reads.get(reverse("case", args=[case_b.pk])))
    assert f"Not covered {AS_OF} Everything is needed by 15:30, Tue 10 Mar." in said
    assert "No set for femoral preparation There is no tray of STAND." in said
    assert "ADD/1 serves case A before and is ready Tue 10 Mar 16:15, 45 min too late." in said
    assert "16 instruments would have come with it broach A, size 9 (planned)" in said


def test_a_case_that_is_covered_shows_what_it_holds(manager_reads: Client, case_a: Case) -> None:
    said = words_of(manager_reads.get(reverse("case", args=[case_a.pk])))
    assert f"Covered {AS_OF}" in said
    assert "stem A, size 12, STANDARD offset, 225 mm" in said
    assert "use by 31 Dec 2031" in said
    assert "BASE/1" in said
    assert "ADD/1" in said


def test_a_case_without_a_plan_is_never_covered(
    manager_reads: Client, case_a: Case, site: Site
) -> None:
    bare = Case.objects.create(site=site, ref="BARE", start=case_a.start, minutes=60, side="left")
    said = words_of(manager_reads.get(reverse("case", args=[bare.pk])))
    assert "LEFT · no plan yet" in said
    assert f"Not covered {AS_OF}" in said
    assert "No plan yet Nothing can be checked until it is written." in said


def test_an_ended_case_has_no_verdict(manager_reads: Client, case_a: Case) -> None:
    case_a.status = CaseStatus.ENDED
    case_a.save()
    said = words_of(manager_reads.get(reverse("case", args=[case_a.pk])))
    assert "nothing is checked for it any more" in said
    assert "Covered" not in said


def test_the_queue_stands_in_order_of_needed_by(
    manager_reads: Client, case_a: Case, case_b: Case
) -> None:
    said = words_of(manager_reads.get("/needed-next/"))
    assert "No tray for" in said
    assert "15:30 Tue 10 Mar Case" not in said
    assert "15:30 Tue 10 Mar B Theatre 1 femoral preparation" in said
    first = said.index("07:30 ADD/1 ADD A Theatre 1 starts 08:30 sterile store ready now")
    assert first < said.index("07:30 BASE/1 BASE A Theatre 1 starts 08:30 sterile store ready now")
    assert "Where To know BASE/2 BASE sterile store" in said


def test_the_day_shows_theatres_trays_and_their_slack(
    manager_reads: Client, case_a: Case, case_b: Case
) -> None:
    said = words_of(manager_reads.get("/days/2026-03-10/"))
    assert "Tuesday 10 March 2026" in said
    assert "← Mon 9 Mar Today Wed 11 Mar →" in said
    assert "A in Theatre 1: needed by 07:30, out 11:45" in said


def test_the_shelf_counts_what_is_free_and_what_is_promised(
    manager_reads: Client, case_a: Case
) -> None:
    said = words_of(manager_reads.get("/shelf/"))
    assert "stem A · " in said
    assert "size 12" in said


@pytest.mark.parametrize(
    ("path", "queries"),
    [
        ("/needed-next/", 29),
        ("/to-order/", 33),
        ("/shelf/", 24),
        ("/cases/", 24),
        ("/days/2026-03-10/", 24),
    ],
)
def test_costs_a_fixed_number_of_queries(
    path: str,
    queries: int,
    manager_reads: Client,
    case_a: Case,
    case_b: Case,
    django_assert_num_queries: Any,
) -> None:
    with django_assert_num_queries(queries):
        manager_reads.get(path)
    more(case_a)
    with django_assert_num_queries(queries):
        manager_reads.get(path)


def test_a_case_costs_a_fixed_number_of_queries(
    manager_reads: Client, case_a: Case, django_assert_num_queries: Any
) -> None:
    for _ in range(2):
        with django_assert_num_queries(28):
            manager_reads.get(reverse("case", args=[case_a.pk]))
        more(case_a)


def more(case: Case) -> None:
    """Another tray and another planned case, so that a query a row would show."""
    number = Case.objects.count()
    tray = Tray.objects.get(site=case.site, code="BASE/1")
    factories.tray(tray.version, f"BASE/{number + 7}", asset=f"9{number}")
    plan = case.plans.get()
    other = Case.objects.create(
        site=case.site,
        ref=f"MORE-{number}",
        start=case.start,
        minutes=60,
        theatre=case.theatre,
        surgeon=case.surgeon,
    )
    plan.pk, plan.case = None, other
    plan.save()
