"""The queue at the bench and on the wall, and the handover."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pypdfium2
import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from deploy.kit.sessions import SEEN
from scheduling.models import Technique
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import Bench
from trays.models import Handover, Machine, Tray
from trays.operations.machines import put_out_of_use
from trays.stages import Stage


@pytest.fixture
def needed(site: Site) -> Tray:
    """A tray at cleaning that a case needs in the evening."""
    tray = factories.tray(
        factories.configuration(site),
        stage=Stage.CLEANING,
        ready_at=factories.NOW.replace(hour=13),
    )
    technique = factories.technique(site)
    technique.sets.create(purpose="femur", options=[["BASE"]])
    factories.case(site, "C1", technique=technique, start=factories.NOW.replace(hour=18))
    return tray


def test_a_scan_says_what_the_tray_is_for(bench: Bench, needed: Tray) -> None:
    bench.at("needed_next").post(text=needed.code)
    said = words_of(bench.page)
    assert "17:00, Mon 1 Mar: case C1" in said
    assert "Ready 13:00, Mon 1 Mar; 4 h slack." in said
    bench.post(text="nonsense")
    assert "STOP" in words_of(bench.page)


def test_what_changed_since_the_handover_stands_on_top(bench: Bench, needed: Tray) -> None:
    assert "No handover yet" in words_of(bench.at("needed_next").page)
    bench.at("handover").post(note="W1 is slow")
    assert Handover.objects.get().note == "W1 is slow"
    bench.at("tray_at_bench", needed.pk).post(act="hold", kind="infection")
    said = words_of(bench.at("needed_next").page)
    assert "Since the handover at 07:00, Mon 1 Mar: 1 to know, 1 tray moved W1 is slow" in said
    assert "Held 07:00 BASE/1 infection" in said
    assert "BASE/1 cleaning → quarantine (infection)" in said
    assert "On hold" in said


def test_the_wall_shows_work_and_nobodys_name(bench: Bench, needed: Tray) -> None:
    said = words_of(bench.at("needed_next_wall").page)
    assert "17:00 today BASE/1" in said
    assert "cleaning since 07:00 4 h" in said
    assert "0 ready · 0 on hold" in said
    region = bench.page.content.decode().split("data-wall-region")[1].partition("</main>")[0]
    assert "Sterile" not in region
    assert "C1" not in region


def test_the_wall_leaves_out_what_is_with_another_case_with_time_to_spare(
    bench: Bench, needed: Tray, site: Site
) -> None:
    technique = Technique.objects.get()
    for days, code in ((2, "C2"), (3, "C3")):
        start = factories.NOW.replace(hour=18) + timedelta(days=days)
        factories.case(site, code, technique=technique, start=start)
    page = bench.at("needed_next_wall").page
    assert [row.case for row in page.context["rows"]] == ["C1"]
    assert "2 after another case · 0 ready" in words_of(page)


def test_the_wall_stays_visible_when_locked_and_keeps_no_session_open(
    bench: Bench, needed: Tray
) -> None:
    said = bench.at("needed_next_wall").page.content.decode()
    for mark in ("data-alerts", "data-lock", "lock.js"):
        assert mark not in said
    session = bench.client.session
    session[SEEN] = idle = session[SEEN] - settings.MUSTER_IDLE_SECONDS / 2
    session.save()
    bench.at("needed_next_wall")
    assert bench.client.session[SEEN] == idle
    bench.client.post(reverse("lock"))
    assert "BASE/1" in words_of(bench.at("needed_next_wall").page)
    assert bench.client.get(reverse("needed_next")).status_code == 302


def test_the_reader_looks_and_does_not_hand_over(
    manager: Person, client_of: Callable[[Person], Client], needed: Tray
) -> None:
    client = client_of(manager)
    assert client.get(reverse("handover")).status_code == 200
    assert client.post(reverse("handover"), {"note": "x"}).status_code == 403
    assert client.get(reverse("needed_next_wall")).status_code == 200
    assert not Handover.objects.exists()


@pytest.mark.usefixtures("machines")
def test_a_machine_out_of_use_is_said_at_the_bench_and_on_the_wall(
    bench: Bench, needed: Tray, sterile_services: Person
) -> None:
    assert "Out of use" not in words_of(bench.at("needed_next").page)
    who = {"by": sterile_services, "now": factories.NOW}
    back = factories.NOW.replace(hour=11)
    for code, until in (("S1", back), ("W1", None)):
        machine = Machine.objects.get(code=code)
        put_out_of_use(machine=machine, reason="broken", back_at=until, **who)
    said = words_of(bench.at("needed_next").page)
    assert "Out of use: S1, back 11:00, Mon 1 Mar; W1, nobody has said until when. Who is hit" in (
        said.replace(" .", ".")
    )
    assert "OUT OF USE S1 until 11:00 · W1" in words_of(bench.at("needed_next_wall").page)


def test_the_queries_do_not_grow_with_the_trays(
    bench: Bench, needed: Tray, django_assert_max_num_queries: Any
) -> None:
    for number in range(5):
        factories.tray(
            needed.version, f"MORE/{number}", stage=Stage.CLEANING, ready_at=factories.NOW
        )
    with django_assert_max_num_queries(34):
        bench.client.get(reverse("needed_next"))


def printed(bench: Bench) -> str:
    file = pypdfium2.PdfDocument(bench.client.get(reverse("handover_pdf")).content)
    pages = (page.get_textpage().get_text_range() for page in file)
    return " ".join(" ".join(pages).split())


def test_the_printed_handover_has_what_the_page_has(bench: Bench, needed: Tray) -> None:
    case = factories.case(needed.site, "C2", technique=Technique.objects.get())
    said = printed(bench)
    assert "No handover before this one" in said
    assert "Nothing moved" not in said
    assert "nothing was held" not in said
    assert f"No tray for By Case Set for Tue 2 Mar 07:30 {case.ref} femur" in said
    assert "Mon 1 Mar 17:00 BASE/1 C1 cleaning 4 h slack" in said
    bench.at("handover").post(note="W1 is slow\nS2 is tested at 7")
    said = printed(bench)
    assert "Said at the last handover W1 is slow S2 is tested at 7 No tray for" in said
    assert "Nothing moved." in said
    bench.at("tray_at_bench", needed.pk).post(act="hold", kind="repair", back_on="2027-03-05")
    said = printed(bench)
    assert "BASE/1 repair repair; back on Fri 5 Mar" in said
    assert "Mon 1 Mar 07:00 BASE/1 cleaning, then repair" in said
