"""Sets of small numbers as the bits of an integer: quick to cut and join, in order by nature."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

Bits = int


def each(bits: Bits) -> Iterator[int]:
    """The members, lowest first."""
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


def bits_of(members: Iterable[int]) -> Bits:
    found = 0
    for member in members:
        found |= 1 << member
    return found
