"""A pick list as frozen values: what the paper, the page and the record all show.

Moments are aware, in the site's local time.  A section is one case.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from itertools import groupby

from scheduling.coverage.report import Verdict
from scheduling.coverage.values import Need


class Kind(StrEnum):
    TRAY = "tray"
    BOX = "box"


@dataclass(frozen=True, slots=True)
class Line:
    """One tray or one box to fetch.

    `code`: the house's own code of the tray or box.  `item`: the configuration's code or the REF.
    `words`: the configuration's name, or size, offset and length in words.  `use_by` None on a
    tray without a date (sterility ends by event) and on a box that does not expire.
    `note`: why it is not ready to be taken yet, or empty.  `link`: what the line's QR says.
    """

    kind: Kind
    code: str
    need: Need
    role: str
    item: str
    words: str
    location: str
    link: str
    lot: str = ""
    serial: str = ""
    use_by: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Absent:
    """What the case wants and cannot be fetched: `quantity` pieces, and why.

    `state`: short, on order, awaited, fast track, shared, ... in the words of the print.
    """

    what: str
    item: str
    need: Need
    quantity: int
    state: str
    because: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """One case.  `counted_on`: instrument REF → pieces that the listed trays must bring."""

    case: str
    theatre: str
    side: str
    start: datetime
    needed_by: datetime
    verdict: Verdict
    trays: tuple[Line, ...] = ()
    boxes: tuple[Line, ...] = ()
    absent: tuple[Absent, ...] = ()
    unsettled: tuple[str, ...] = ()
    counted_on: Mapping[str, int] = field(default_factory=dict)

    @property
    def lines(self) -> tuple[Line, ...]:
        return self.trays + self.boxes


@dataclass(frozen=True, slots=True)
class Content:
    """`title`: the case, or the theatre whose day it is.  Sections in time order."""

    title: str
    sections: tuple[Section, ...]
    is_day: bool = False

    def lines(self) -> Iterator[tuple[Section, Line]]:
        """Every line in the order of the paper."""
        for section in self.sections:
            for line in section.lines:
                yield section, line


@dataclass(frozen=True, slots=True)
class Printing:
    """One printed version of a list, as the paper's frame shows it.

    `clock_is_real` False: a demonstration, whose moments are invented; the paper says so.
    """

    site: str
    code: str
    number: int
    as_of: datetime
    printed_at: datetime
    link: str
    content: Content
    clock_is_real: bool = True


def by_location(lines: tuple[Line, ...]) -> list[tuple[str, list[Line]]]:
    """The lines in groups of one location; they must be in walking order already."""
    return [
        (location or "Location not recorded", list(group))
        for location, group in groupby(lines, key=lambda line: line.location)
    ]
