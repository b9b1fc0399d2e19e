"""The pages of a count: choose a place, scan, settle the differences."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from implants.models import Count, CountLine, Implant, ShelfSettings, Unit
from tests import factories
from tests.implants.labels import label, stem

A, B = "Store A-01", "Store B-01"


@pytest.fixture
def boxes(site):
    implant = stem(site)
    return [
        factories.unit(implant, "S7", lot="L1", serial="7", location=A),
        factories.unit(implant, "S8", lot="L1", serial="8", location=A),
        factories.unit(implant, "S9", lot="L1", serial="9", location=B),
    ]


@pytest.fixture
def browser(coordinator, client_of):
    return client_of(coordinator)


def posted(browser, name, form, *args) -> str:
    return browser.post(reverse(name, args=args), form, follow=True).content.decode()


def opened(browser, how="blind", **form) -> str:
    return posted(browser, "counts", {"place": "a-01", "how": how, **form})


def test_the_places_are_proposed(browser, boxes):
    page = browser.get(reverse("counts")).content.decode()
    assert page.index(A) < page.index(B)
    assert "never" in page


def test_what_the_boxes_cost_is_said_in_the_currency_of_the_house(browser, boxes, site):
    Implant.objects.update(price=Decimal(1240))
    assert '<span class="sub">2,480.00</span>' in browser.get(reverse("counts")).text
    ShelfSettings.objects.create(site=site, currency="GBP")
    assert (
        '<span class="sub">GBP\N{NO-BREAK SPACE}2,480.00</span>'
        in browser.get(reverse("counts")).text
    )


def test_a_blind_count_shows_no_list(browser, boxes):
    page = opened(browser)
    assert f"You stand at <strong>{A}</strong>." in page
    assert "SN 7" not in page


def test_against_the_list_each_box_is_ticked(browser, boxes):
    page = opened(browser, how="list")
    assert page.count("To scan") == 2
    assert "<strong>0 of 2 on the list scanned</strong>" in page
    page = posted(browser, "count_scan", {"text": label()}, Count.objects.get().pk)
    assert '<p class="answer__word">COUNTED</p>' in page
    assert page.count("To scan") == 1
    assert "<strong>1 of 2 on the list scanned</strong></p>" in page
    page = posted(browser, "count_scan", {"text": label(serial="99")}, Count.objects.get().pk)
    assert "<strong>1 of 2 on the list scanned</strong>, 1 not as recorded" in page


def test_the_navigation_says_where_one_is(browser, boxes):
    page = browser.get(reverse("counts")).text
    assert re.search(r'aria-current="true"[^>]*>Receive<', page)
    assert re.search(r'aria-current="page"[^>]*>Counts<', page)


def test_all_places_of_a_line(browser, boxes):
    posted(browser, "counts", {"line": "stem", "how": "blind"})
    assert Count.objects.get().places == [A, B]


@pytest.mark.parametrize(
    ("form", "said"),
    [({"place": "nowhere"}, "No box is recorded at “nowhere”."), ({"place": ""}, "which place")],
)
def test_what_cannot_be_counted(browser, boxes, form, said):
    assert said in opened(browser, **form)
    assert not Count.objects.exists()


def test_the_differences_are_settled_and_the_count_closed(browser, boxes):
    opened(browser)
    count = Count.objects.get()
    posted(browser, "count_scan", {"text": label(serial="9")}, count.pk)
    page = browser.get(reverse("count_differences", args=[count.pk])).content.decode()
    assert "1 scanned, 2 recorded" in page
    lines = {line.unit.code: line.pk for line in count.lines.all()}
    form = {f"how-{lines['S7']}": "explained", f"how-{lines['S9']}": "put away here"}
    page = posted(browser, "count_differences", form, count.pk)
    assert f"Say in the note what explains: S7 at {A}." in page
    assert '<option value="put away here" selected>' in page, "what was chosen is still there"
    form[f"note-{lines['S7']}"] = "lent to theatre"
    page = posted(browser, "count_differences", form, count.pk)
    assert "lent to theatre" in page
    assert Unit.objects.get(code="S9").location == A
    page = browser.get(reverse("counts")).content.decode()
    assert "1 difference of closed counts still open" in page
    form = {"line": lines["S8"], f"how-{lines['S8']}": "missing"}
    assert "Every difference is explained." in posted(browser, "open_differences", form)
    assert Unit.objects.get(code="S8").state == "quarantine"


def test_a_closed_count_has_no_form(browser, boxes):
    opened(browser)
    count = Count.objects.get()
    posted(browser, "count_differences", {}, count.pk)
    page = posted(browser, "count_scan", {"text": label()}, count.pk)
    assert "is closed" in page
    assert "data-scan-field" not in page
    assert browser.get(reverse("count_differences", args=[count.pk])).status_code == 302


def test_the_count_sheet(browser, boxes):
    opened(browser, how="list")
    url = reverse("count_print", args=[Count.objects.get().pk])
    assert "SN 7" in browser.get(url).content.decode()
    Count.objects.update(is_blind=True)
    assert "SN 7" not in browser.get(url).content.decode()


@pytest.mark.parametrize("role", ["sterile_services", "surgeon", "theatre_team", "manager"])
def test_refuses_who_may_only_read(role, request, browser, boxes, client_of):
    opened(browser)
    pk = Count.objects.get().pk
    client = client_of(request.getfixturevalue(role))
    for name, args in (
        ("counts", []),
        ("open_differences", []),
        ("count", [pk]),
        ("count_scan", [pk]),
        ("count_differences", [pk]),
        ("count_print", [pk]),
    ):
        assert client.get(reverse(name, args=args)).status_code in (403, 405)
        assert client.post(reverse(name, args=args), {"text": label()}).status_code == 403
    assert not CountLine.objects.exclude(counted_at=None).exists()


def test_another_sites_count_looks_like_none(browser, boxes, stranger, client_of):
    opened(browser)
    pk = Count.objects.get().pk
    client = client_of(stranger)
    for name in ("count", "count_differences", "count_print"):
        assert client.get(reverse(name, args=[pk])).status_code == 404
    assert client.post(reverse("count_scan", args=[pk]), {"text": "x"}).status_code == 404


def test_costs_a_fixed_number_of_queries(browser, boxes, django_assert_num_queries):
    opened(browser, how="list")
    pk = Count.objects.get().pk
    with django_assert_num_queries(4):
        browser.get(reverse("count", args=[pk]))
    with django_assert_num_queries(4):
        browser.get(reverse("count_differences", args=[pk]))
    with django_assert_num_queries(8):
        browser.get(reverse("counts"))
    with django_assert_num_queries(3):
        browser.get(reverse("open_differences"))
