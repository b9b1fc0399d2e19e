"""The catalogue as the rules ask for it: items by role and attribute, and the rungs of ladders."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import reduce
from operator import or_

from deploy.kit.attributes import Value
from scheduling.coverage.bits import Bits, each
from scheduling.coverage.values import Implant, Instrument, Scenario

Item = Instrument | Implant
Stated = Value | bool

Rungs = tuple[Stated | None, Stated | None, int, int]
"""What is taken of a ladder: from, to, how many more below and above (`Steps.taken`)."""


def same(left: Stated, right: Stated) -> bool:
    """Equal values; a yes or no is never equal to a number (in Python True == 1)."""
    return isinstance(left, bool) == isinstance(right, bool) and left == right


def is_number(value: Stated | None) -> bool:
    return isinstance(value, int | Decimal) and not isinstance(value, bool)


def told_apart(value: object) -> object:
    """Equal where `same` is: what values are looked up by."""
    return (value,) if isinstance(value, bool) else value


def attribute_of(item: Item, key: str) -> Value | None:
    """An item's attribute, None where it has none; `ref` counts as an attribute."""
    return item.ref if key == "ref" else item.attributes.get(key)


def attributes_of(items: Sequence[Item], key: str) -> list[Value | None]:
    """`attribute_of` each."""
    if key == "ref":
        return [item.ref for item in items]
    return [item.attributes.get(key) for item in items]


class Steps:
    """A ladder: the distinct values of an attribute, in order, and on each rung the items by
    their place; a text is not a rung.  `holds_text`: an item has one where the others stand."""

    def __init__(self, items: list[Item], key: str) -> None:
        found: dict[Value, Bits] = defaultdict(int)
        for place, value in enumerate(attributes_of(items, key)):
            if value is not None and is_number(value):
                found[value] |= 1 << place
        self.holds_text = len(items) > sum(map(int.bit_count, found.values())) and any(
            value is not None and not is_number(value) for value in attributes_of(items, key)
        )
        self.rungs: list[Value] = sorted(found)
        self._items = [found[rung] for rung in self.rungs]

    def taken(self, ladder: Rungs) -> Bits:
        """The items from start to end, on `below` more rungs under and `above` more over.

        Ends need not be rungs.  start > end has no middle, only its extensions.  An end that is
        a text takes nothing: it names no place on the ladder.
        """
        start, end, below, above = ladder
        if not all(bound is None or is_number(bound) for bound in (start, end)):
            return 0
        items = self._items
        low = 0 if start is None else bisect_left(self.rungs, start)
        high = len(items) if end is None else bisect_right(self.rungs, end)
        taken = items[low:high]
        if start is not None:
            taken += items[max(0, low - below) : low]
        if end is not None:
            taken += items[high : high + above]
        return reduce(or_, taken, 0)


class Candidates:
    """The items of a role that satisfy all of a selection but its ladders."""

    def __init__(self, items: list[Item]) -> None:
        self.items = items
        self._ladders: dict[str, Steps] = {}

    def ladder(self, key: str) -> Steps:
        if key not in self._ladders:
            self._ladders[key] = Steps(self.items, key)
        return self._ladders[key]

    def on_ladders(self, ladders: Mapping[str, Rungs]) -> list[Item]:
        """The items on all the ladders.  Every ladder counts the rungs among the items of the
        *other* selections only: two ladders in one rule multiply."""
        if not ladders:
            return self.items
        left = (1 << len(self.items)) - 1
        for key, rungs in ladders.items():
            left &= self.ladder(key).taken(rungs)
        return [self.items[place] for place in each(left)]


class Catalogue:
    """The scenario's instruments and implants.  Remembers what it was asked: many cases ask the
    same."""

    def __init__(self, scenario: Scenario) -> None:
        self.implants = scenario.implants
        self.instruments = scenario.instruments
        self._by_role: dict[str, list[Item]] = defaultdict(list)
        for items in (scenario.instruments, scenario.implants):
            for item in items.values():
                self._by_role[item.role].append(item)
        self._places: dict[tuple[str, str], dict[object, Bits]] = {}
        self._matching: dict[object, list[Implant]] = {}
        self._candidates: dict[object, Candidates] = {}

    def matching(self, role: str, attributes: Mapping[str, Value]) -> list[Implant]:
        """The implants of a role that have all the stated attributes."""
        key = (role, *attributes.items())
        if key not in self._matching:
            found = self._having(role, {k: (v,) for k, v in attributes.items()})
            self._matching[key] = [item for item in found if isinstance(item, Implant)]
        return self._matching[key]

    def candidates(self, role: str, values: Mapping[str, tuple[Stated, ...]]) -> Candidates:
        """The items of a role that have one of the values at each of these attributes."""
        key = (role, *((k, *map(told_apart, wanted)) for k, wanted in values.items()))
        if key not in self._candidates:
            self._candidates[key] = Candidates(self._having(role, values))
        return self._candidates[key]

    def _having(self, role: str, values: Mapping[str, tuple[Stated, ...]]) -> list[Item]:
        items = self._by_role.get(role, [])
        places = (1 << len(items)) - 1
        for key, wanted in values.items():
            places_of = self._places_of(role, key)
            having = 0
            for value in wanted:
                having |= places_of.get(told_apart(value), 0)
            places &= having
        return [items[place] for place in each(places)]

    def _places_of(self, role: str, key: str) -> Mapping[object, Bits]:
        """Where a role's items stand in its list, by the value of one attribute."""
        if (role, key) not in self._places:
            places: dict[object, Bits] = defaultdict(int)
            for place, value in enumerate(attributes_of(self._by_role.get(role, ()), key)):
                places[value] |= 1 << place  # never a yes or no
            places.pop(None, None)
            self._places[role, key] = places
        return self._places[role, key]
