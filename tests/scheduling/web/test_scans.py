from __future__ import annotations

import re

import pytest
from django.db import connection
from django.urls import reverse

from scheduling.models import PickListVersion, Scan
from scheduling.operations.pick_lists import print_pick_list
from tests import factories
from tests.factories import NOW
from tests.scheduling.pick_lists.house import GTIN, TOMORROW, House, house

STEM = f"01{GTIN}10LX\x1d211"


@pytest.fixture
def of(site) -> House:
    return house(site)


@pytest.fixture
def version(of, coordinator) -> PickListVersion:
    return print_pick_list(case=of.case, by=coordinator, now=NOW)


def url(version: PickListVersion) -> str:
    return reverse("scan_list", args=[version.pick_list.code])


def posted(client, version: PickListVersion, text: str, **values) -> str:
    """The page after a plain form post, as a browser without script sees it."""
    form = {"text": text, "version": version.number, **values}
    return client.post(url(version), form, follow=True).content.decode()


class TestScan:
    @pytest.mark.parametrize("role", ["coordinator", "theatre_team"])
    def test_ticks_the_line_and_says_the_big_word(self, version, role, client_of, request):
        page = posted(client_of(request.getfixturevalue(role)), version, STEM)
        assert '<p class="answer__word">MATCHES LIST</p>' in page
        assert "<strong>1 of 4</strong> scanned" in page
        assert Scan.objects.get().line.unit.code == "S1"

    def test_the_same_scan_twice_is_harmless(self, version, coordinator, client_of):
        client = client_of(coordinator)
        posted(client, version, STEM)
        page = posted(client, version, STEM)
        assert '<p class="answer__word">ALREADY SCANNED</p>' in page
        assert "<strong>1 of 4</strong> scanned" in page

    @pytest.mark.parametrize(
        ("role", "offered"), [("theatre_team", True), ("sterile_services", False)]
    )
    def test_past_a_stop_it_goes_by_the_check_in_theatre(
        self, of, version, role, offered, client_of, request
    ):
        client = client_of(request.getfixturevalue(role))
        page = posted(client, version, "rubbish")
        assert '<p class="answer__word">STOP</p>' in page
        address = reverse("in_theatre", args=[of.case.pk])
        assert (f'action="{address}"' in page) is offered

    def test_the_same_post_twice_is_one_scan(self, version, coordinator, client_of):
        client = client_of(coordinator)
        for _ in range(2):
            page = posted(client, version, STEM, request_key="k1")
            assert "MATCHES LIST" in page
        assert Scan.objects.count() == 1

    def test_a_key_that_was_used_for_another_box(self, version, coordinator, client_of):
        client = client_of(coordinator)
        posted(client, version, STEM, request_key="k1")
        page = posted(client, version, "BASE/1", request_key="k1")
        assert "That page had been used before, and nothing was done now." in page
        assert "answer__word" not in page

    def test_stop_shows_both_values(self, of, version, coordinator, client_of):
        other = factories.implant(of.site, "ST-12S", "stem", size=12, offset="standard", length=225)
        factories.unit(other, "S9", lot="L9")
        page = posted(client_of(coordinator), version, "ST-12S L9")
        assert '<p class="answer__word">STOP</p>' in page
        assert "Other offset" in page
        assert "<dt>The list asks for</dt><dd>stem, size 12, HIGH offset, 225 mm</dd>" in page
        assert "<dt>Scanned</dt><dd>stem, size 12, STANDARD offset, 225 mm</dd>" in page

    def test_what_was_read_is_escaped(self, version, coordinator, client_of):
        page = posted(client_of(coordinator), version, "<script>alert(1)</script>")
        assert "<script>alert(1)" not in page
        assert "&lt;script&gt;" in page

    def test_an_empty_scan_does_nothing(self, version, coordinator, client_of):
        page = posted(client_of(coordinator), version, "  ")
        assert "Ready for the next box." in page
        assert not Scan.objects.exists()

    def test_a_list_that_was_printed_again_meanwhile(self, of, version, coordinator, client_of):
        factories.held(of.stems[0], "dropped")
        print_pick_list(case=of.case, by=coordinator, now=NOW)
        page = posted(client_of(coordinator), version, "BASE/1")
        assert "This list was printed again" in page
        assert "version 2" in page
        assert 'name="version" value="2"' in page  # the next scan is against the newest

    def test_each_page_has_a_key_of_its_own(self, version, coordinator, client_of):
        client = client_of(coordinator)
        keys = {
            re.search(
                r'name="request_key" value="(\w+)"', client.get(url(version)).content.decode()
            )[1]
            for _ in range(2)
        }
        assert len(keys) == 2

    def test_the_answer_of_another_list_is_not_shown(self, of, version, coordinator, client_of):
        client = client_of(coordinator)
        posted(client, version, STEM)
        day = print_pick_list(theatre=of.theatre, day=TOMORROW, by=coordinator, now=NOW)
        page = client.get(f"{url(day)}?answer={Scan.objects.get().pk}").content.decode()
        assert "MATCHES LIST" not in page

    def test_the_field_has_the_focus(self, version, coordinator, client_of):
        page = client_of(coordinator).get(url(version)).content.decode()
        assert re.search(r'<input id="text"[^>]* autofocus', page)

    def test_it_never_says_that_an_implant_is_right(self, version, coordinator, client_of):
        page = posted(client_of(coordinator), version, STEM)
        assert not re.search(r"\bOK\b|compatible", page)


class TestOpening:
    def test_the_code_of_a_list_opens_it(self, version, coordinator, client_of):
        client = client_of(coordinator)
        code = version.pick_list.code
        for text in (code, code.lower(), f"HTTP://127.0.0.1:8000/l/{code}/1/"):
            assert client.post(reverse("scan"), {"text": text}).url == url(version)
        answer = client.post(url(version), {"text": f"http://h/l/{code}/1/", "version": 1})
        assert answer.url == url(version)

    def test_an_old_paper_opens_the_page_that_says_what_changed(
        self, of, version, coordinator, client_of
    ):
        factories.held(of.stems[0], "dropped")
        print_pick_list(case=of.case, by=coordinator, now=NOW)
        code = version.pick_list.code
        answer = client_of(coordinator).post(reverse("scan"), {"text": f"http://h/l/{code}/1/"})
        assert answer.url == reverse("pick_list_version", args=[code, 1])

    def test_a_box_without_a_list(self, version, coordinator, client_of):
        answer = client_of(coordinator).post(reverse("scan"), {"text": STEM}, follow=True)
        assert "is not the code of a list" in answer.content.decode()
        assert not Scan.objects.exists()

    def test_a_character_that_no_code_holds(self, version, coordinator, client_of):
        client = client_of(coordinator)
        for text in ("\0", f"\0{version.pick_list.code}"):
            assert client.post(reverse("scan"), {"text": text}).status_code == 302
        assert client.get("/scan/A%00/").status_code == 404
        assert client.get("/u/A%00/").status_code == 404
        assert "STOP" in posted(client, version, "A\0B")

    def test_the_lately_printed_are_offered(self, version, coordinator, client_of):
        page = client_of(coordinator).get(reverse("scan")).content.decode()
        assert url(version) in page


class TestDoors:
    def test_refuses_the_stranger(self, version, stranger, client_of):
        client = client_of(stranger)
        assert client.get(url(version)).status_code == 404
        assert client.post(url(version), {"text": STEM, "version": 1}).status_code == 404
        link = f"http://h/l/{version.pick_list.code}/1/"
        assert client.post(reverse("scan"), {"text": link}).status_code == 404
        assert version.pick_list.code not in client.get(reverse("scan")).content.decode()
        assert not Scan.objects.exists()

    @pytest.mark.parametrize("role", ["manager", "surgeon"])
    def test_refuses_the_read_only(self, version, role, client_of, request):
        client = client_of(request.getfixturevalue(role))
        for address in (url(version), reverse("scan")):
            assert client.get(address).status_code == 403
            assert client.post(address, {"text": STEM, "version": 1}).status_code == 403
        assert not Scan.objects.exists()

    def test_a_version_that_was_never_printed(self, version, coordinator, client_of):
        client = client_of(coordinator)
        for number in ("7", "x", "", "9" * 30, "²"):
            answer = client.post(url(version), {"text": STEM, "version": number})
            assert answer.status_code == 404


def test_costs_a_fixed_number_of_queries(
    version, coordinator, client_of, django_assert_num_queries
):
    client = client_of(coordinator)
    posted(client, version, STEM)
    with django_assert_num_queries(7):
        client.get(f"{url(version)}?answer={Scan.objects.get().pk}")
    # PostgreSQL claims the key with one more.
    with django_assert_num_queries(30 + (connection.vendor == "postgresql")):
        client.post(url(version), {"text": STEM, "version": 1, "request_key": "k"})
