"""What a trace finds, as values.  Moments are local."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from implants.models import Unit
from scheduling.models import Case


@dataclass(frozen=True, slots=True)
class Event:
    """`what`: `implant`, `put back`, `in theatre`; `of`: which box or tray; `by`: who, in words."""

    at: datetime
    what: str
    of: str
    by: str
    case: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class TracedCase:
    """`case` None: a reference that no case of the site has.  `events` in time order."""

    ref: str
    case: Case | None
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class Trace:
    """`unused`: boxes that no case has touched.  `outside`: what was used and never received here.
    `more`: whether there are boxes beyond the shown ones."""

    boxes: tuple[Unit, ...]
    trays: tuple[str, ...]
    cases: tuple[TracedCase, ...]
    unused: tuple[Unit, ...]
    more: bool = False
    outside: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        return not self.boxes and not self.trays and not self.outside
