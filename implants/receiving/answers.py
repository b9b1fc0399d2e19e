"""One answer of the receiving bench, as the screen shows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from implants.models import Arrival
from implants.receiving.checks import Finding
from implants.receiving.words import KINDS, TITLES, WHAT_TO_DO, Word


@dataclass(frozen=True, slots=True)
class Answer:
    """`code` says why, where it is STOP.  `new_place`: what a second scan would confirm."""

    word: Word
    code: str = ""
    asked: str = ""
    read: str = ""
    note: str = ""
    arrival: Arrival | None = None
    new_place: str = ""

    def as_shown(self) -> dict[str, Any]:
        """What the page shows, as texts."""
        return {
            "word": self.word.value,
            "kind": self.kind,
            "title": self.title,
            "asked": self.asked,
            "read": self.read,
            "note": self.note,
            "what_to_do": self.what_to_do,
            "new_place": self.new_place,
        }

    @property
    def kind(self) -> str:
        return KINDS[self.word]

    @property
    def title(self) -> str:
        return TITLES.get(self.code, "")

    @property
    def what_to_do(self) -> str:
        return WHAT_TO_DO.get(self.code, "")


def stop(code: str, *, asked: str, read: str, **more: object) -> Answer:
    return Answer(Word.STOP, code, asked, read, **more)  # type: ignore[arg-type]


def stopped_by(found: Sequence[Finding], arrival: Arrival) -> Answer:
    """STOP for the gravest finding, with the box; the others are noted."""
    first, *others = found
    also = "; ".join(TITLES[one.code] for one in others)
    box = f"{arrival.implant.in_words()}, LOT {arrival.lot or 'none'}" if arrival.implant else ""
    return stop(
        first.code,
        asked=first.asked,
        read=first.read,
        note=f"{box}. Also: {also}." if also else box,
        arrival=arrival,
    )
