"""The person who acts signs at the act, and a second one beside them."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory
from django.urls import reverse

from deploy.kit.accounts import Accounts
from deploy.kit.credentials import set_badge, set_pin
from deploy.kit.models import Person, SecurityEvent, Tries
from deploy.kit.signed_act import NotSigned, TakeSignatures, second_person, sign
from tests import factories
from tests.factories import PASSWORD

PERMISSION = "implants.change_unit"


@pytest.fixture
def coordinator(coordinator: Person) -> Person:
    set_pin(person=coordinator, pin="4071", by=None)
    return coordinator


@pytest.fixture
def second(site: Any) -> Person:
    person = factories.person(site, "second", "implant coordinator")
    person.user.set_password(PASSWORD)
    person.user.save()
    set_pin(person=person, pin="5182", by=None)
    set_badge(person=person, badge="B-77", by=None)
    return person


def sent(by: Person, **fields: str) -> HttpRequest:
    """As it comes to a view."""
    request = RequestFactory().post("/act/", fields)
    request.user = Accounts().get_user(by.user.pk)
    TakeSignatures(HttpResponse).process_view(request, None, (), {})  # type: ignore[arg-type]
    return request


def log() -> list[tuple[str, ...]]:
    rows = SecurityEvent.objects.filter(what="sign").order_by("pk")
    return list(rows.values_list("outcome", "who__username", "detail"))


def refusal(request: HttpRequest, permission: str = PERMISSION) -> str:
    with pytest.raises(NotSigned) as refused:
        second_person(request, permission, act="lift")
    return refused.value.say()


def test_the_person_who_acts_signs_and_the_log_says_what(coordinator):
    sign(sent(coordinator, signed_with="4071"), act="release load 12")
    assert log() == [("done", "coordinator", "release load 12")]


@pytest.mark.parametrize("fields", [{}, {"signed_with": ""}, {"signed_with": "4072"}])
def test_without_the_own_secret_nothing_is_signed(coordinator, second, fields):
    with pytest.raises(NotSigned, match="not your PIN or password"):
        sign(sent(coordinator, **fields), act="release load 12")
    refused = [("refused", "coordinator", "/act/, as coordinator")]
    assert log() == (refused if fields.get("signed_with") else [])


def test_the_sixth_try_is_refused_with_the_time_for_the_next(coordinator):
    for _ in range(5):
        with pytest.raises(NotSigned):
            sign(sent(coordinator, signed_with="4072"), act="release")
    with pytest.raises(NotSigned, match=r"too many tries\. Try again at \d\d:\d\d\."):
        sign(sent(coordinator, signed_with="4071"), act="release")


@pytest.mark.django_db(transaction=True)
def test_a_wrong_try_stays_counted_where_the_act_is_undone(coordinator, second, client_of):
    """Through the whole chain: a form with a key does its view in a transaction."""
    browser = client_of(coordinator)
    form = {"request_key": "one", "signed_with": "4072", "second": "second", "second_pin": "5183"}
    browser.post(reverse("shelf"), form)  # answers 405, and does nothing
    assert sorted(Tries.objects.values_list("number", flat=True)) == [1, 1]
    assert {who for _, who, _ in log()} == {"coordinator", "second"}


@pytest.mark.parametrize("who", ["B-77", " B-77 ", "second", "Second"])
@pytest.mark.parametrize("secret", ["5182", PASSWORD])
def test_a_second_person_signs_by_badge_or_name_and_pin_or_password(
    coordinator, second, who, secret
):
    request = sent(coordinator, second=who, second_pin=secret)
    assert second_person(request, PERMISSION, act="lift") == second
    assert log() == [("done", "second", "lift, beside coordinator")]


def test_who_does_not_count_as_the_second_person(coordinator, second, manager, stranger):
    set_pin(person=manager, pin="6293", by=None)
    set_pin(person=stranger, pin="7304", by=None)
    said = [
        refusal(sent(coordinator, second_pin="5182")),
        refusal(sent(coordinator, second="nobody", second_pin="5182")),
        refusal(sent(coordinator, second="B-77", second_pin="5183")),
        refusal(sent(coordinator, second="B-77")),
        refusal(sent(coordinator, second="coordinator", second_pin="4071")),
        refusal(sent(coordinator, second="manager", second_pin="6293")),
        refusal(sent(coordinator, second="stranger", second_pin="7304")),
    ]
    assert said == [
        "This takes a second person: their badge or user name, and their PIN.",
        "Not signed: no badge and no user name here is “nobody”.",
        "Not signed: that is not the PIN or password of Second.",
        "Not signed: that is not the PIN or password of Second.",
        "Not signed: this takes two different people.",
        "Not signed: Manager may not sign this.",
        "Not signed: no badge and no user name here is “stranger”.",
    ]


def test_a_closed_account_signs_nothing(coordinator, second):
    second.user.is_active = False
    second.user.save()
    for who in ("second", "B-77"):
        assert "no badge and no user name" in refusal(
            sent(coordinator, second=who, second_pin="5182")
        )
