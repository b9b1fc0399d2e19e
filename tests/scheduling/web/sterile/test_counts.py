"""The count sheet at the bench: line by line, and at once who needs what is missing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from deploy.kit.credentials import set_pin
from deploy.kit.models import Person, Site
from scheduling.models import Case
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import PIN, Bench
from trays.models import CountPhoto, SterileSettings, Tray
from trays.operations.photos import MOST_BYTES
from trays.stages import Stage


@pytest.fixture
def tray(tray: Tray, site: Site) -> Tray:
    return factories.tray(tray.version, "BASE/9", stage=Stage.ASSEMBLY, ready_at=factories.NOW)


@pytest.fixture
def needing(site: Site, tray: Tray) -> Case:
    """A case that asks for a base tray and for reamer 14."""
    technique = factories.technique(site)
    technique.sets.create(purpose="femur", options=[["BASE"]])
    technique.rules.create(role="reamer", need="planned", select={"diameter": 14})
    return factories.case(site, "C1", technique=technique)


@pytest.fixture
def sheet(bench: Bench, tray: Tray) -> Bench:
    bench.at("count_tray", tray.pk).post(begin="1")
    return bench


def missing(tray: Tray) -> dict[str, int]:
    return dict(tray.missing_lines.values_list("instrument__ref", "quantity"))


def test_one_line_at_a_time_in_tray_order(sheet: Bench, tray: Tray) -> None:
    assert sheet.page.context["current"].instrument.ref == "R12"
    assert sheet.scan("p") == ("PRESENT", "reamer, Ø 12 mm (R12)")
    assert sheet.scan("1")[1] == "reamer, Ø 14 mm (R14)"
    assert sheet.scan("3") == ("STOP", "3 is more than the sheet has (2)")
    assert sheet.scan("1")[0] == "MISSING"
    assert missing(tray) == {"HANDLE": 1}
    assert sheet.scan("HANDLE")[0] == "PRESENT"
    assert missing(tray) == {}
    sheet.post(close="1")
    assert sheet.path == f"/bench/pack/{tray.pk}/"


def test_one_line_back_and_said_anew(sheet: Bench, tray: Tray) -> None:
    sheet.scan("0")
    assert missing(tray) == {"R12": 1}
    sheet.scan("<")
    assert sheet.page.context["current"].instrument.ref == "R12"
    sheet.post(text="r BASE/4", at="R12")
    assert missing(tray) == {}
    assert tray.counts.get().lines.get(instrument__ref="R12").replaced_by == "BASE/4"


def test_what_could_not_be_read_leaves_the_line_at_hand(sheet: Bench, tray: Tray) -> None:
    """Else what is said next would be recorded of another line."""
    sheet.scan("p")
    sheet.scan("<")
    for unread in ("2", "r", "nonsense", "R99"):
        sheet.post(text=unread, at=sheet.page.context["current"].instrument.ref)
        assert sheet.page.context["current"].instrument.ref == "R12"
    sheet.post(text="r from BASE/4", at=sheet.page.context["current"].instrument.ref)
    said = dict(tray.counts.get().lines.values_list("instrument__ref", "replaced_by"))
    assert said == {"R12": "BASE/4", "R14": "", "HANDLE": ""}


def test_missing_says_at_once_who_needs_it_and_what_could_help(
    sheet: Bench, tray: Tray, needing: Case, site: Site
) -> None:
    """The tray in the store serves the case, so the verdict falls only when that one lacks it."""
    sheet.scan("p")
    assert sheet.scan("m")[0] == "MISSING"
    said = words_of(sheet.page)
    assert "Who needs reamer, Ø 14 mm?" in said
    assert "No verdict changes" in said
    assert "BASE/1 BASE: ready, sterile store. Serves C1." in said


def test_a_verdict_that_falls_is_shown_with_what_it_was(
    sheet: Bench, tray: Tray, needing: Case
) -> None:
    other = Tray.objects.get(code="BASE/1")
    other.missing_lines.create(instrument=tray.version.contents.all()[1].instrument)
    sheet.scan("p")
    sheet.scan("m")
    said = words_of(sheet.page)
    assert "1 case judged anew" in said
    assert "was covered" in said
    assert "Not covered" in said
    assert "No other tray and no pack holds it." in said


def test_does_not_close_with_a_line_unsaid(sheet: Bench) -> None:
    sheet.post(close="1")
    assert "3 lines are not said yet, first R12; R14; HANDLE" in words_of(sheet.page)


def test_two_initials_where_the_house_asks(sheet: Bench, tray: Tray, site: Site) -> None:
    SterileSettings.objects.create(site=site, two_initials=True)
    for _ in range(3):
        sheet.scan("p")
    sheet.post(close="1")
    assert "This takes a second person: their badge or user name" in words_of(sheet.page)
    colleague: Person = factories.person(site, "colleague", "sterile services")
    set_pin(person=colleague, pin="5182", by=None)
    sheet.post(close="1", second="colleague", second_pin=PIN)
    assert "Not signed: that is not the PIN or password of Colleague." in words_of(sheet.page)
    assert tray.counts.get().closed_at is None
    sheet.post(close="1", second="colleague", second_pin="5182")
    assert tray.counts.get().second == colleague.user


JPEG = b"\xff\xd8\xff\xe0" + b"\x00" * 40


def test_a_photograph_is_kept_with_its_line_and_is_what_its_bytes_say(
    sheet: Bench, tray: Tray, stranger: Person, client_of: Callable[[Person], Client]
) -> None:
    for name, content in (("broken.jpg", JPEG), ("page.jpg", b"<html><script>")):
        sheet.post(line="R14", photo=SimpleUploadedFile(name, content, "image/jpeg"))
    assert "This is no photograph that can be kept" in words_of(sheet.page)
    kept = CountPhoto.objects.get()
    assert (kept.line.instrument.ref, kept.kind) == ("R14", "image/jpeg")
    path = reverse("tray_photo", args=[kept.pk])
    answer = sheet.client.get(path)
    assert (answer.content, answer["Content-Type"]) == (JPEG, "image/jpeg")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert path in sheet.page.content.decode()
    assert client_of(stranger).get(path).status_code == 404


def test_a_photograph_that_is_too_large_is_not_kept(sheet: Bench) -> None:
    big = SimpleUploadedFile("big.jpg", JPEG + b"\x00" * MOST_BYTES)
    sheet.post(line="R14", photo=big)
    assert "The photograph is larger than 3 MB" in words_of(sheet.page)
    assert not CountPhoto.objects.exists()


def test_only_where_something_is_missing_is_the_whole_site_read(
    sheet: Bench, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(30):
        sheet.client.post(sheet.path, {"text": "p"})
