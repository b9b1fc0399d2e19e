"""What the database itself refuses, whatever the code above it does."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from implants.models import Implant, Unit
from tests import factories


@pytest.fixture
def unit(site) -> Unit:
    return factories.unit(factories.implant(site, size=12), serial="S1")


def refused(write) -> bool:
    try:
        with transaction.atomic():
            write()
    except IntegrityError:
        return True
    return False


@pytest.mark.parametrize("field", ["ref", "role"])
def test_an_implant_without_a_name_or_a_role(unit, field):
    assert refused(lambda: Implant.objects.update(**{field: ""}))


def test_a_reference_and_a_gtin_are_given_once_at_a_site(unit, stranger):
    Implant.objects.update(gtin="02000010000012")
    assert refused(lambda: factories.implant(unit.site))
    second = factories.implant(unit.site, "STEM-13")
    assert refused(lambda: Implant.objects.filter(pk=second.pk).update(gtin="02000010000012"))
    assert not refused(lambda: factories.implant(stranger.site))


def test_many_implants_may_have_no_gtin(unit):
    assert not refused(lambda: factories.implant(unit.site, "STEM-13"))


def test_a_box_is_there_once(unit):
    assert refused(lambda: factories.unit(unit.implant))


def test_two_boxes_of_one_implant_never_have_the_same_serial(unit):
    assert refused(lambda: factories.unit(unit.implant, "U002", serial="S1"))
    other = factories.implant(unit.site, "STEM-13")
    assert not refused(lambda: factories.unit(other, "U002", serial="S1"))
    assert not refused(lambda: factories.unit(unit.implant, "U003"))
    assert not refused(lambda: factories.unit(unit.implant, "U004"))


@pytest.mark.parametrize(
    ("expiry", "does_not_expire", "is_refused"),
    [
        (date(2031, 12, 31), False, False),
        (None, True, False),
        (None, False, True),
        (date(2031, 12, 31), True, True),
    ],
)
def test_a_box_says_its_use_by_date_or_that_it_has_none(unit, expiry, does_not_expire, is_refused):
    assert is_refused == refused(
        lambda: Unit.objects.update(expiry=expiry, does_not_expire=does_not_expire)
    )


def test_attributes_are_checked_all_at_once(unit):
    implant = unit.implant
    implant.attributes = {"sise": 12, "length": True, "taper": "", "size": 12}
    with pytest.raises(ValidationError) as error:
        implant.full_clean()
    assert [fault.partition(" (")[0] for fault in error.value.message_dict["attributes"]] == [
        "unknown attribute 'sise'",
        "length: neither a text nor a number",
        "taper: leave it out when it has no value",
    ]
