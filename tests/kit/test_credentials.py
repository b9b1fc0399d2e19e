from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from deploy.kit.credentials import check_pin, person_of_badge, pin_fits, set_badge, set_pin
from deploy.kit.models import Credential, SecurityEvent


@pytest.mark.parametrize("pin", ["4071", "0001", "907153", "135792468013"])
def test_pins_that_will_do(pin):
    check_pin(pin)


@pytest.mark.parametrize(
    "pin",
    [
        *("", "407", "40 71", "4071a", "-4071", "٤٠٧١", "1" * 13),
        *("4444", "1234", "2468", "9876", "8901"),
    ],
)
def test_pins_that_will_not(pin):
    with pytest.raises(ValidationError):
        check_pin(pin)


def test_a_pin_is_kept_as_argon2_and_fits_its_person_alone(surgeon, manager):
    set_pin(person=surgeon, pin="4071", by=surgeon.user)
    assert pin_fits(surgeon.user, "4071")
    assert not pin_fits(surgeon.user, "4072")
    assert not pin_fits(manager.user, "4071")
    assert Credential.objects.get().pin_hash.startswith("argon2$argon2id$")


def test_no_pin_fits_nothing(surgeon):
    assert not pin_fits(surgeon.user, "")
    set_badge(person=surgeon, badge="B1", by=surgeon.user)
    assert not pin_fits(surgeon.user, "")


def test_a_badge_finds_its_person_and_is_not_kept_readable(surgeon, django_assert_num_queries):
    set_badge(person=surgeon, badge=" badge-17 ", by=surgeon.user)
    with django_assert_num_queries(1):
        assert person_of_badge("badge-17") == surgeon
    assert person_of_badge("badge-18") is None
    assert len(Credential.objects.get().badge_hash) == 64


def test_another_key_knows_no_badge(surgeon, settings):
    set_badge(person=surgeon, badge="badge-17", by=surgeon.user)
    settings.MUSTER_HASH_KEY = "another"
    assert person_of_badge("badge-17") is None


def test_a_badge_is_one_persons(surgeon, manager):
    set_badge(person=surgeon, badge="badge-17", by=surgeon.user)
    with pytest.raises(ValidationError, match="somebody else's"):
        set_badge(person=manager, badge="badge-17", by=manager.user)
    set_badge(person=surgeon, badge="", by=surgeon.user)
    set_badge(person=manager, badge="badge-17", by=manager.user)
    assert person_of_badge("badge-17") == manager


def test_a_closed_account_has_no_badge(surgeon):
    set_badge(person=surgeon, badge="badge-17", by=surgeon.user)
    surgeon.user.is_active = False
    surgeon.user.save()
    assert person_of_badge("badge-17") is None


def test_both_leave_a_line_in_the_log(surgeon, administrator):
    set_pin(person=surgeon, pin="4071", by=administrator.user, address="10.0.0.1")
    set_badge(person=surgeon, badge="badge-17", by=surgeon.user)
    rows = SecurityEvent.objects.order_by("pk")
    assert list(rows.values_list("what", "who__username", "about__username", "address")) == [
        ("PIN", "administrator", "surgeon", "10.0.0.1"),
        ("badge", "surgeon", None, None),
    ]
