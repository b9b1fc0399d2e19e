"""Reading one JSON object of a scenario file, key by key, keeping every fault with its place.

A reader never stops at a fault: it notes `place: what is wrong` and hands back a harmless
stand-in, so that one pass finds all faults.  Whoever began the pass throws the result away when
there is any.  Pure; shared by the readers of all parts of a scenario.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from deploy.kit.attributes import ATTRIBUTES, Value

REF = "ref"
"""Counts as an attribute in selections, components and paths."""

# Bounds that no hospital meets, and that keep sums of times, and floats in a database, exact.
MOST_MINUTES = 10_000_000
MOST_PIECES = 10_000
YEARS = range(1900, 9901)
FIRST, LAST = datetime(1, 1, 2), datetime(9999, 12, 30, 23, 59)  # noqa: DTZ001  of any zone
"""What no zone brings past the ends of the calendar."""
_LARGEST = 10**9
_DECIMALS = 6

_PLAIN_KEY = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*")
_TIME = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MINUTE = re.compile(r"([0-9]{2}):([0-9]{2})")

STAND_IN = datetime(2000, 1, 1, tzinfo=UTC)
"""Stands for a time that could not be read; never leaves a pass without faults."""


class JsonObject(dict[str, object]):
    """A JSON object that remembers which of its keys the file gave more than once."""

    repeated: tuple[str, ...] = ()

    @classmethod
    def from_pairs(cls, pairs: list[tuple[str, object]]) -> JsonObject:
        made = cls(pairs)
        if len(made) < len(pairs):
            keys = [key for key, _ in pairs]
            made.repeated = tuple(key for key in made if keys.count(key) > 1)
        return made


def shown(value: object) -> str:
    """A value as the file has it, on one line and not too long."""
    text = json.dumps(value, ensure_ascii=False, default=float)
    return text if len(text) <= 80 else text[:77] + "..."


def at(place: str, key: str | int) -> str:
    """The place of a key or an index: `cases[3].start`, `contents["01/2"]`."""
    if isinstance(key, int):
        return f"{place}[{key}]"
    if not _PLAIN_KEY.fullmatch(key):
        return f"{place}[{shown(key)}]"
    return f"{place}.{key}" if place else key


def text_fault(value: object, *, lines: bool = False) -> str:
    """What is wrong with a text, or "".  `lines`: it may run over several lines."""
    if not isinstance(value, str):
        return f"not a text: {shown(value)}"
    for character in value:
        kind = unicodedata.category(character)
        if kind == "Cs" or (kind == "Cc" and not (lines and character in "\r\n\t")):
            return f"a character that is no text: {shown(value)}"
    return ""


def code_fault(value: object) -> str:
    """What is wrong with a code, or ""."""
    if fault := text_fault(value):
        return fault
    if value == "":
        return "empty"
    if str(value).strip() != value:
        return f"begins or ends with a space: {shown(value)}"
    return ""


def number_fault(value: object) -> str:
    """What is wrong with a number (true and false are none), or ""."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return f"not a number: {shown(value)}"
    # Compared before any arithmetic: 1e999999999 is short to write and endless to work out.
    if not -_LARGEST < value < _LARGEST:
        return f"not a number below {_LARGEST:,}: {shown(str(value))}"
    if isinstance(value, Decimal) and value != round(value, _DECIMALS):
        return f"more than {_DECIMALS} decimals: {shown(str(value))}"
    return ""


def value_fault(value: object, *, truth: bool = False) -> str:
    """What is wrong with an attribute or a fact, or "".  `truth`: true and false are welcome."""
    if isinstance(value, bool) and truth:
        return ""
    if isinstance(value, str):
        return text_fault(value) or ("" if value else "empty: leave it out when it has no value")
    if not isinstance(value, bool) and isinstance(value, int | Decimal):
        return number_fault(value)
    wanted = "a text, a number, true or false" if truth else "a text or a number"
    return f"not {wanted}: {shown(value)}"


def path_fault(value: object) -> str:
    """What is wrong with a path (`stem.size`, `approach`), or "".

    Whether it leads anywhere is not asked here: a path to nothing is an open question of the
    case, not a broken file.
    """
    if fault := text_fault(value):
        return fault
    parts = str(value).split(".")
    if any(not part or part.strip() != part for part in parts):
        return f"not a path: {shown(value)}"
    return ""


def moment_in(text: str, zone: ZoneInfo) -> datetime:
    """A local time `YYYY-MM-DDTHH:MM` in UTC; ValueError where it is none.  The first and the last
    day of the calendar are read as their neighbours.

    A time that the clocks show twice is its first occurrence.  One that they skip is read on
    the clock as it stood before the change: 01:30 in the hour lost in spring is half an hour
    after the change.  Both are what `fold` 0 means.
    """
    if not _TIME.fullmatch(text):
        raise ValueError(text)
    local = min(max(datetime.fromisoformat(text), FIRST), LAST)
    return local.replace(tzinfo=zone).astimezone(UTC)


def day_from(text: str) -> date:
    """A date `YYYY-MM-DD`; ValueError where it is none."""
    if not _DATE.fullmatch(text):
        raise ValueError(text)
    return date.fromisoformat(text)


def minute_from(text: object, *, midnight: bool = False) -> int:
    """`HH:MM` as minutes after midnight; ValueError where it is none.

    `midnight`: "24:00", the end of the day, is welcome too.
    """
    match = _MINUTE.fullmatch(text) if isinstance(text, str) else None
    if match is None:
        raise ValueError(text)
    minute = int(match[1]) * 60 + int(match[2])
    if int(match[2]) > 59 or minute > (24 * 60 if midnight else 24 * 60 - 1):
        raise ValueError(text)
    return minute


class Entry:
    """One JSON object at its place, with the keys that may stand in it."""

    def __init__(
        self, data: object, place: str, faults: list[str], known: Iterable[str] | None
    ) -> None:
        """`known` None: the keys are free (roles, facts, references)."""
        self.place = place
        self.faults = faults
        self.is_object = isinstance(data, dict)
        self.data: dict[str, object] = data if isinstance(data, dict) else {}
        if not self.is_object:
            self.fault(None, f"not an object: {shown(data)}")
        for key in getattr(data, "repeated", ()):
            self.fault(key, "given twice")
        if known is not None:
            welcome = list(known)
            for key in self.data:
                if key not in welcome:
                    self.fault(key, f"unknown key (known: {', '.join(welcome)})")

    def __contains__(self, key: str) -> bool:
        return key in self.data

    def fault(self, key: str | None, what: str) -> None:
        place = self.place if key is None else at(self.place, key)
        self.faults.append(f"{place or 'scenario'}: {what}")

    def lacks(self, key: str) -> bool:
        """Whether a key that must be there is missing, which is then noted."""
        if key in self.data:
            return False
        if self.is_object:
            self.fault(key, "missing")
        return True

    # -- single values ------------------------------------------------------------------------

    def code(self, key: str) -> str:
        """A text that must be there and names something; "" where it cannot be read."""
        if self.lacks(key):
            return ""
        if fault := code_fault(self.data[key]):
            self.fault(key, fault)
            return ""
        return str(self.data[key])

    def text(self, key: str, *, lines: bool = False) -> str:
        """A text that may be left out."""
        value = self.data.get(key, "")
        if fault := text_fault(value, lines=lines):
            self.fault(key, fault)
            return ""
        return str(value)

    def one_of(self, key: str, choices: Sequence[str], default: str | None = None) -> str:
        """One of `choices`; must be there unless there is a default."""
        if default is not None and key not in self.data:
            return default
        if self.lacks(key):
            return choices[0]
        value = self.data[key]
        if not isinstance(value, str) or value not in choices:
            self.fault(key, f"not one of {', '.join(choices)}: {shown(value)}")
            return choices[0]
        return value

    def truth(self, key: str) -> bool:
        value = self.data.get(key, False)
        if not isinstance(value, bool):
            self.fault(key, f"neither true nor false: {shown(value)}")
        return value is True

    def whole(self, key: str, *, least: int, most: int) -> int | None:
        """A whole number that must be there; None where it cannot be read."""
        if self.lacks(key):
            return None
        value = self.data[key]
        if fault := whole_fault(value, least=least, most=most):
            self.fault(key, fault)
            return None
        return int(value)  # type: ignore[call-overload, no-any-return]

    def whole_or(self, key: str, default: int, *, least: int, most: int) -> int:
        if key not in self.data:
            return default
        value = self.whole(key, least=least, most=most)
        return default if value is None else value

    def moment(self, key: str, zone: ZoneInfo) -> datetime | None:
        """A local time in UTC; None where it is left out or cannot be read."""
        moment = self.moment_of_any_year(key, zone)
        if moment is not None and moment.year not in YEARS:
            years = f"{YEARS[0]} to {YEARS[-1]}"
            self.fault(key, f"not in the years {years}: {shown(self.data[key])}")
            return None
        return moment

    def moment_of_any_year(self, key: str, zone: ZoneInfo) -> datetime | None:
        """For a time that nothing is added to: the year 9999 is a way to say "for good"."""
        if key not in self.data:
            return None
        value = self.data[key]
        try:
            return moment_in(value if isinstance(value, str) else "", zone)
        except ValueError:
            self.fault(key, f"not a time: {shown(value)} (YYYY-MM-DDTHH:MM)")
            return None

    def minute_of_day(self, key: str) -> int | None:
        """`HH:MM` as minutes after midnight; None where it is left out or cannot be read."""
        if key not in self.data:
            return None
        try:
            return minute_from(self.data[key])
        except ValueError:
            self.fault(key, f"not a time of day: {shown(self.data[key])} (HH:MM)")
            return None

    # -- what holds more ----------------------------------------------------------------------

    def items(self, key: str) -> list[tuple[str, object]]:
        """The places and values of a list that may be left out."""
        value = self.data.get(key, [])
        if not isinstance(value, list):
            self.fault(key, f"not a list: {shown(value)}")
            return []
        place = at(self.place, key)
        return [(at(place, index), item) for index, item in enumerate(value)]

    def days(self, key: str) -> frozenset[date]:
        """The dates of a list that may be left out."""
        days: set[date] = set()
        for place, value in self.items(key):
            try:
                days.add(day_from(value if isinstance(value, str) else ""))
            except ValueError:
                self.faults.append(f"{place}: not a date: {shown(value)} (YYYY-MM-DD)")
        return frozenset(days)

    def inner(self, key: str, known: Iterable[str] | None = None) -> Entry:
        """The object under a key; an empty one where it is left out."""
        return Entry(self.data.get(key, {}), at(self.place, key), self.faults, known)

    def codes(self, key: str) -> Iterator[tuple[str, str]]:
        """The places and codes of a list without repeats that may be left out."""
        seen: set[str] = set()
        for place, value in self.items(key):
            if fault := code_fault(value):
                self.faults.append(f"{place}: {fault}")
            elif str(value) in seen:
                self.faults.append(f"{place}: given twice: {shown(value)}")
            else:
                seen.add(str(value))
                yield place, str(value)

    def attributes(self, *, ref: bool = False) -> dict[str, Value]:
        """The attributes among the keys; `ref`: the reference may be one of them."""
        found: dict[str, Value] = {}
        for key, value in self.data.items():
            if key in ATTRIBUTES or (ref and key == REF):
                if fault := value_fault(value):
                    self.fault(key, fault)
                else:
                    found[key] = value  # type: ignore[assignment]
        return found


def whole_fault(value: object, *, least: int, most: int) -> str:
    """What is wrong with a whole number, or ""."""
    if fault := number_fault(value):
        return fault
    assert isinstance(value, int | Decimal)
    if value != int(value):
        return f"not a whole number: {shown(value)}"
    if value < least:
        return f"less than {least}: {shown(value)}"
    if value > most:
        return f"more than {most:,}: {shown(value)}"
    return ""


def quantities(entry: Entry) -> dict[str, int]:
    """Every key of the entry with its quantity, one or more."""
    found = {}
    for key, value in entry.data.items():
        if fault := whole_fault(value, least=1, most=MOST_PIECES):
            entry.fault(key, fault)
        else:
            found[key] = int(value)  # type: ignore[call-overload]
    return found
