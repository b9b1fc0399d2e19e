"""The pages of recalls: what one hits, the retrieval list, and who may see what."""

from __future__ import annotations

import pytest
from django.urls import reverse

from implants.models import Recall, Unit
from implants.operations.theatre import record_implanted
from scheduling.models import OutsideBox
from tests import factories
from tests.factories import NOW, PASSWORD
from tests.implants.labels import stem


@pytest.fixture
def implant(site):
    return stem(site)


@pytest.fixture
def browser(coordinator, client_of):
    return client_of(coordinator)


def page_of(answer) -> str:
    return answer.content.decode()


def opened(browser, notice="STEM-12 R1", act="open", **more) -> str:
    form = {"title": "Notice 7", "notice": notice, "act": act, **more}
    return page_of(browser.post(reverse("recalls"), form, follow=True))


def test_opening_holds_the_boxes_and_shows_the_list(browser, implant):
    factories.unit(implant, "BOX", lot="R1", location="A-1")
    page = opened(browser)
    recall = Recall.objects.get()
    assert f"<h1>Recall {recall.pk}: Notice 7</h1>" in page
    assert "<strong>0 of 1</strong> found or accounted for" in page
    assert "No booked case is worse off." in page
    assert Unit.objects.get().state == "recalled"


def test_looking_first_changes_nothing(browser, implant):
    factories.unit(implant, "BOX", lot="R1", location="A-1")
    page = opened(browser, act="look")
    assert "1 box here or on the way" in page
    assert "Hold these boxes now" in page
    assert not Recall.objects.exists()
    assert Unit.objects.get().state == "on the shelf"


def test_faults_of_the_notice_are_said_all_at_once(browser, implant):
    page = opened(browser, notice="X 1\nY 2")
    assert "line 1: “X 1”" in page
    assert "line 2: “Y 2”" in page
    assert not Recall.objects.exists()


def test_a_drill_is_marked(browser, implant):
    factories.unit(implant, "BOX", lot="R1", location="A-1")
    assert "DRILL: nothing is held" in opened(browser, is_drill="1")
    assert Unit.objects.get().state == "on the shelf"


def test_boxes_are_retrieved_by_scan(browser, implant):
    factories.unit(implant, "BOX", lot="R1", location="A-1")
    opened(browser)
    url = reverse("recall_retrieve", args=[Recall.objects.get().pk])
    for word in ("FOUND", "ALREADY SCANNED"):
        page = page_of(browser.post(url, {"text": "STEM-12 R1"}, follow=True))
        assert f'<p class="answer__word">{word}</p>' in page
        assert "<strong>1 of 1</strong> found or accounted for" in page
    page = page_of(browser.post(url, {"text": "nonsense"}, follow=True))
    assert '<p class="answer__word">STOP</p>' in page


def test_one_that_cannot_be_found_is_explained(browser, implant):
    factories.unit(implant, "BOX", lot="R1", location="A-1")
    opened(browser)
    recall = Recall.objects.get()
    form = {"box": recall.boxes.get().pk, "note": "not in its place"}
    url = reverse("recall_explain", args=[recall.pk])
    assert "not in its place" in page_of(browser.post(url, form, follow=True))
    assert browser.post(url, {"box": "²", "note": "x"}).status_code == 404


class TestClosing:
    @pytest.fixture
    def second(self, site):
        lead = factories.person(site, "lead", "implant lead")
        lead.user.set_password(PASSWORD)
        lead.user.save()
        return lead

    def closed(self, browser, **form) -> str:
        url = reverse("recall_close", args=[Recall.objects.get().pk])
        return page_of(browser.post(url, form, follow=True))

    def test_takes_a_second_person_who_may(self, browser, implant, second):
        opened(browser)
        page = self.closed(browser, second="lead", second_pin="wrong")
        assert "Not signed" in page
        assert Recall.objects.get().is_open
        self.closed(browser, second="lead", second_pin=PASSWORD)
        assert Recall.objects.get().closed_second == second.user

    def test_says_what_is_left_to_find(self, browser, implant, second):
        factories.unit(implant, "BOX", lot="R1", location="A-1")
        opened(browser)
        page = self.closed(browser, second="lead", second_pin=PASSWORD)
        assert "1 of its boxes are neither found nor accounted for." in page


class TestRecipients:
    def test_are_for_the_implant_lead_alone(self, browser, implant, coordinator, client_of, site):
        box = factories.unit(implant, "BOX", lot="R1")
        record_implanted(unit=box, case_ref="C-SECRET", by=coordinator, now=NOW)
        opened(browser)
        url = reverse("recall", args=[Recall.objects.get().pk])
        page = page_of(browser.get(url))
        assert "1 box. For whom is shown to the implant lead alone." in page
        assert "C-SECRET" not in page
        lead = client_of(factories.person(site, "lead", "implant lead"))
        assert "Case C-SECRET, 1 Mar 2027" in page_of(lead.get(url))

    @pytest.mark.parametrize("known", [True, False])
    def test_who_received_a_box_that_was_never_here_is_among_them(
        self, known, browser, implant, coordinator, manager, client_of, site
    ):
        """Entered in theatre; `known`: the catalogue had the item then."""
        OutsideBox.objects.create(
            case=factories.case(site, "C-NIGHT"),
            outcome="implanted",
            implant=implant if known else None,
            role="stem",
            words="stem",
            maker="Maker North",
            ref=implant.ref,
            lot="r1",
            does_not_expire=True,
            reason="lent by hand",
            at=NOW,
            by=coordinator.user,
            second=manager.user,
        )
        opened(browser)
        url = reverse("recall", args=[Recall.objects.get().pk])
        assert "1 box. For whom is shown" in page_of(browser.get(url))
        lead = client_of(factories.person(site, "lead", "implant lead"))
        page = page_of(lead.get(url))
        assert "Case C-NIGHT, 1 Mar 2027" in page
        assert "LOT r1 (never received here, entered in theatre)" in page


@pytest.mark.parametrize("role", ["sterile_services", "surgeon", "theatre_team", "manager"])
def test_who_may_only_read_is_refused_to_act(role, request, browser, client_of, implant):
    factories.unit(implant, "BOX", lot="R1")
    opened(browser)
    recall = Recall.objects.get()
    client = client_of(request.getfixturevalue(role))
    assert client.get(reverse("recalls")).status_code == 200
    assert client.get(reverse("recall", args=[recall.pk])).status_code == 200
    assert client.post(reverse("recalls"), {"act": "open"}).status_code == 403
    for name in ("recall_retrieve", "recall_explain", "recall_close"):
        assert client.post(reverse(name, args=[recall.pk]), {"text": "x"}).status_code == 403
    assert not recall.boxes.exclude(done_at=None).exists()


def test_another_sites_recall_looks_like_none(browser, implant, stranger, client_of):
    opened(browser)
    pk = Recall.objects.get().pk
    client = client_of(stranger)
    for name in ("recall", "recall_print"):
        assert client.get(reverse(name, args=[pk])).status_code == 404
    assert "Notice 7" not in page_of(client.get(reverse("recalls")))


def test_the_print_has_every_box(browser, implant):
    factories.unit(implant, "BOX", lot="R1", serial="33", location="A-1")
    opened(browser)
    page = page_of(browser.get(reverse("recall_print", args=[Recall.objects.get().pk])))
    for said in ("A-1", "stem, size 12, HIGH offset, 225 mm", "SN 33", "31 Dec 2031", "BOX"):
        assert said in page


def test_costs_a_fixed_number_of_queries(browser, implant, django_assert_num_queries):
    for number in range(3):
        factories.unit(implant, f"B{number}", lot="R1", location=f"A-{number}")
    opened(browser)
    pk = Recall.objects.get().pk
    with django_assert_num_queries(25):
        browser.get(reverse("recall", args=[pk]))
    with django_assert_num_queries(5):
        browser.get(reverse("recall_print", args=[pk]))
    with django_assert_num_queries(3):
        browser.get(reverse("recalls"))
