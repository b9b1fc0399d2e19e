from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from deploy.kit.credentials import set_pin
from deploy.kit.models import SecurityEvent
from deploy.kit.signature import proves, signs
from deploy.kit.throttle import TooManyTries
from tests.factories import NOW, PASSWORD


@pytest.fixture
def surgeon(surgeon):
    surgeon.user.set_password(PASSWORD)
    surgeon.user.save()
    set_pin(person=surgeon, pin="4071", by=surgeon.user)
    return surgeon


def test_signs_by_pin_alone(surgeon):
    assert signs(surgeon, "4071", act="confirm case 7")
    assert not signs(surgeon, "4072")
    assert not signs(surgeon, PASSWORD)


def test_a_lock_opens_by_pin_or_password(surgeon):
    assert proves(surgeon.user, "4071", address=None)
    assert proves(surgeon.user, PASSWORD, address=None)
    assert not proves(surgeon.user, "4072", address=None)


def test_five_wrong_pins_shut_out_the_right_one_for_a_quarter_wherever(surgeon, manager):
    for place in range(5):
        assert not signs(surgeon, "0815", address=f"10.0.0.{place}", now=NOW)
    with pytest.raises(TooManyTries) as refusal:
        proves(surgeon.user, "4071", address="10.0.0.9", now=NOW)
    assert refusal.value.until == NOW + timedelta(minutes=15)
    assert signs(surgeon, "4071", now=refusal.value.until)


def test_a_right_one_forgets_the_wrong_ones(surgeon):
    for _ in range(3):
        for _ in range(4):
            signs(surgeon, "0815", now=NOW)
        assert signs(surgeon, "4071", now=NOW)


def test_what_was_signed_and_what_was_refused_are_in_the_log(surgeon):
    signs(surgeon, "4071", act="release load 12", address="10.0.0.1", now=timezone.now())
    signs(surgeon, "4072", act="release load 13", now=timezone.now())
    rows = SecurityEvent.objects.filter(what="sign").order_by("pk")
    assert list(rows.values_list("outcome", "who__username", "detail")) == [
        ("done", "surgeon", "release load 12"),
        ("refused", "surgeon", "release load 13"),
    ]
