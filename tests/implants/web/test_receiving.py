"""The pages of the receiving bench, as a browser without script sees them."""

from __future__ import annotations

import pytest
from django.urls import reverse

from implants.models import Arrival, Unit
from tests import factories
from tests.implants.labels import label, stem

PLACE = "Store A-01"
HIBC = "+A999ABC123DE0/$+1234567Y"
WORD = '<p class="answer__word">{}</p>'


@pytest.fixture
def implant(site):
    implant = stem(site)
    factories.unit(implant, "STEM-12/1", lot="OLD", serial="1", location=PLACE)
    return implant


@pytest.fixture
def browser(coordinator, client_of):
    return client_of(coordinator)


def scanned(browser, text, **more) -> str:
    return browser.post(reverse("receive"), {"text": text, **more}, follow=True).content.decode()


def decided(browser, said, **more) -> str:
    arrival = Arrival.objects.first()
    form = {"said": said, "arrival": arrival.pk, **more}
    return browser.post(reverse("receive_decide"), form, follow=True).content.decode()


def test_a_box_and_its_place(browser, implant):
    page = scanned(browser, label())
    assert WORD.format("CHECK BOX") in page
    assert "stem, size 12, HIGH offset, 225 mm" in page
    assert "use by 31 Dec 2031" in page
    assert f"Others lie at {PLACE}." in page
    assert 'for="text">Place of this box' in page
    page = scanned(browser, PLACE)
    assert WORD.format("RECEIVED") in page
    assert 'for="text">Box; or type REF and LOT' in page


def test_the_box_in_hand_is_still_there_when_the_page_is_opened_again(browser, implant):
    scanned(browser, label())
    assert WORD.format("CHECK BOX") in browser.get(reverse("receive")).content.decode()


def test_stop_shows_both_values_and_the_word_for_what_to_do(browser, implant):
    page = scanned(browser, label(use_by="270401"))
    assert WORD.format("STOP") in page
    assert "<dt>Asked for</dt><dd>use by 30 May 2027 or later</dd>" in page
    assert "<dt>Scanned</dt><dd>use by 01 Apr 2027</dd>" in page
    assert "put it on the quarantine shelf" in page
    assert "short-dated on arrival" in page


def test_a_new_place_is_confirmed_by_a_second_scan(browser, implant):
    scanned(browser, label())
    page = scanned(browser, "Store B-02")
    assert '<input type="hidden" name="new_place" value="Store B-02">' in page
    assert WORD.format("RECEIVED") in scanned(browser, "Store B-02", new_place="Store B-02")


def test_the_same_post_twice_is_one_scan(browser, implant):
    for _ in range(2):
        assert WORD.format("CHECK BOX") in scanned(browser, label(), request_key="k1")
    for _ in range(2):
        assert WORD.format("RECEIVED") in scanned(browser, PLACE, request_key="k2")
    assert Unit.objects.count() == 2


def test_an_answer_is_shown_to_the_scan_that_got_it(browser, implant):
    scanned(browser, "nonsense")
    assert "answer__word" not in browser.get(reverse("receive")).content.decode()


def test_what_was_read_is_escaped(browser, implant):
    assert "<b>" not in scanned(browser, "<b>nonsense</b>")


@pytest.mark.parametrize(
    ("said", "more", "outcome"),
    [
        ("packaging", {"note": "seal open"}, "in quarantine"),
        ("label differs", {}, "in quarantine"),
        ("aside", {}, "not received"),
        ("owner", {"owner": "loan"}, "to be put away"),
        ("owner", {"owner": "nonsense"}, "to be put away"),
        ("nonsense", {}, "to be put away"),
    ],
)
def test_what_a_person_says(browser, implant, said, more, outcome):
    scanned(browser, label())
    decided(browser, said, **more)
    arrival = Arrival.objects.get()
    assert arrival.outcome == outcome
    assert arrival.owner == ("loan" if more.get("owner") == "loan" else "owned")


def test_the_use_by_date_is_typed(browser, implant):
    page = scanned(browser, "STEM-12 L1")
    assert "Use by, as the label says" in page
    assert "a day of the calendar" in decided(browser, "use by", expiry="2030-02-30")
    assert "use by 31 Jan 2030" in decided(browser, "use by", expiry="2030-01-31")
    assert Arrival.objects.get().expiry.year == 2030


def test_a_box_that_is_no_longer_in_hand(browser, implant):
    scanned(browser, label())
    scanned(browser, PLACE)
    assert "not in hand any more" in decided(browser, "packaging")
    assert Unit.objects.filter(state="quarantine").count() == 0


class TestNotInTheCatalogue:
    def test_is_a_queue_entry_and_no_error_page(self, browser, implant):
        page = scanned(browser, HIBC)
        assert "it is in the queue of boxes not in the catalogue" in page
        assert "1 not in the catalogue" in page
        assert "A999ABC123DE0" in browser.get(reverse("unknown_boxes")).content.decode()

    @pytest.mark.parametrize(
        ("form", "said", "outcome"),
        [
            ({"ref": "stem-12"}, "Scan the box again to receive.", "linked to the catalogue"),
            ({"ref": "NONE"}, "There is no REF “NONE”", "not in the catalogue"),
            ({"act": "refuse", "note": ""}, "send the box back", "not received"),
        ],
    )
    def test_is_worked_off(self, browser, implant, form, said, outcome):
        scanned(browser, HIBC)
        form = {"arrival": Arrival.objects.get().pk, **form}
        page = browser.post(reverse("unknown_boxes"), form, follow=True).content.decode()
        assert said in page
        assert Arrival.objects.get().outcome == outcome

    def test_of_another_site_looks_like_none(self, browser, implant, stranger, client_of):
        scanned(browser, HIBC)
        form = {"arrival": Arrival.objects.get().pk, "act": "refuse"}
        assert client_of(stranger).post(reverse("unknown_boxes"), form).status_code == 404


@pytest.mark.parametrize("role", ["sterile_services", "surgeon", "theatre_team", "manager"])
def test_refuses_who_may_only_read(role, request, client_of, implant):
    client = client_of(request.getfixturevalue(role))
    for name in ("receive", "receive_decide", "unknown_boxes"):
        assert client.post(reverse(name), {"text": label()}).status_code == 403
        assert client.get(reverse(name)).status_code == 403
    assert not Arrival.objects.exists()


def test_another_sites_bench_shows_nothing_of_this_one(browser, implant, stranger, client_of):
    scanned(browser, label())
    page = client_of(stranger).get(reverse("receive")).content.decode()
    assert "Ready for the next box." in page
    assert "STEM-12" not in page


def test_costs_a_fixed_number_of_queries(browser, implant, django_assert_num_queries):
    scanned(browser, label())
    with django_assert_num_queries(7):
        browser.get(reverse("receive"))
    scanned(browser, PLACE)
    for serial in ("8", "9"):
        scanned(browser, label(serial=serial))
        scanned(browser, PLACE)
    with django_assert_num_queries(6):
        browser.get(reverse("receive"))
    scanned(browser, HIBC)
    with django_assert_num_queries(4):
        browser.get(reverse("unknown_boxes"))
