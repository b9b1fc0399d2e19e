"""Checks on fields of the catalogue, for forms, the admin and imports."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from implants.udi.check_digit import GTIN_DIGITS, check_digit, is_digits


def is_gtin(value: str) -> None:
    """Refuse what is not a GTIN of 14 digits with a right check digit."""
    if len(value) != GTIN_DIGITS or not is_digits(value):
        raise ValidationError(
            "A GTIN has 14 digits; fill a shorter one up with zeros in front.", code="gtin"
        )
    expected = check_digit(value[:-1])
    if value[-1] != expected:
        raise ValidationError(
            "The last digit of %(value)s should be %(expected)s: compare it with the label.",
            code="gtin",
            params={"value": value, "expected": expected},
        )
