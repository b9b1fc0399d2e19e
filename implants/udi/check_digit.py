"""The GS1 check digit: modulo 10, weights 3 and 1 alternating from the right.

Source: GS1, check digit calculator, manual calculation.
"""

from __future__ import annotations

GTIN_DIGITS = 14


def is_digits(text: str) -> bool:
    """ASCII digits only, at least one: `str.isdigit` alone takes Arabic and superscript ones."""
    return text.isascii() and text.isdigit()


def check_digit(payload: str) -> str:
    """The digit that belongs behind `payload`.  ValueError if it is not all digits."""
    if not is_digits(payload):
        raise ValueError(f"digits only, not {payload!r}")
    weighted = sum(
        int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(reversed(payload))
    )
    return str(-weighted % 10)


def has_right_check_digit(number: str) -> bool:
    """Whether the last digit fits those before it.  ValueError if not two digits or more."""
    if not is_digits(number):
        raise ValueError(f"digits only, not {number!r}")
    return number[-1] == check_digit(number[:-1])
