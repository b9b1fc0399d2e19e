from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from implants.models import Implant
from implants.validators import is_gtin


def test_a_right_gtin_passes() -> None:
    is_gtin("02345678901234")


@pytest.mark.parametrize("value", ["2345678901234", "002345678901234", "0234567890123A", "", " "])
def test_what_is_not_14_digits_is_refused(value: str) -> None:
    with pytest.raises(ValidationError, match="A GTIN has 14 digits"):
        is_gtin(value)


def test_digits_of_other_scripts_are_refused() -> None:
    with pytest.raises(ValidationError, match="A GTIN has 14 digits"):
        is_gtin("0234567890123\N{ARABIC-INDIC DIGIT SEVEN}")


def test_a_wrong_check_digit_is_refused_and_the_right_one_named() -> None:
    with pytest.raises(ValidationError) as refused:
        is_gtin("02345678901237")
    assert refused.value.messages == [
        "The last digit of 02345678901237 should be 4: compare it with the label."
    ]


def test_the_catalogue_uses_it() -> None:
    implant = Implant(ref="N-12", role="stem", gtin="02345678901237")
    with pytest.raises(ValidationError) as refused:
        implant.clean_fields(exclude=["site"])
    assert set(refused.value.message_dict) == {"gtin"}
    Implant(ref="N-12", role="stem", gtin="").clean_fields(exclude=["site"])
