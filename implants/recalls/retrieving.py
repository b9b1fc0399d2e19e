"""What a scan at the retrieval list answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from implants.models import RecallBox, Unit
from implants.shelf_reading import Label, Place, Read, Unreadable


class Word(StrEnum):
    FOUND = "FOUND"
    ALREADY = "ALREADY SCANNED"
    STOP = "STOP"


KINDS: Mapping[Word, str] = {Word.FOUND: "matches", Word.ALREADY: "already", Word.STOP: "stop"}

PUT_IT = "Put it on the quarantine shelf."


@dataclass(frozen=True, slots=True)
class Answer:
    word: Word
    title: str = ""
    read: str = ""
    asked: str = ""
    what_to_do: str = ""
    box: RecallBox | None = None

    def as_shown(self) -> dict[str, str]:
        return {
            "word": self.word.value,
            "kind": KINDS[self.word],
            "title": self.title,
            "read": self.read,
            "asked": self.asked,
            "what_to_do": self.what_to_do,
        }


def answer(read: Read, boxes: Sequence[RecallBox]) -> Answer:
    """Which box of the list was read.  No query where the units' implants are selected along."""
    if isinstance(read, Unreadable):
        return Answer(Word.STOP, "Not readable", read.shown, "a box", read.why)
    if isinstance(read, Place):
        return Answer(Word.STOP, "That is a place", read.name, "a box", "Scan the boxes in it.")
    alike = [box for box in boxes if _is(read, box.unit)]
    said = read.said() if isinstance(read, Label) else f"box {read}"
    if not alike:
        return Answer(
            Word.STOP,
            "Not on this list",
            said,
            "a box of this recall",
            "If the notice names it, put it aside: the record does not know it.",
        )
    left = [box for box in alike if not box.is_done]
    if not left:
        return Answer(Word.ALREADY, read=said, what_to_do=PUT_IT)
    number = (
        f"{len(alike) - len(left) + 1} of {len(alike)} of this kind. " if len(alike) > 1 else ""
    )
    return Answer(Word.FOUND, read=said, what_to_do=number + PUT_IT, box=left[0])


def _is(read: Label | Unit, unit: Unit) -> bool:
    """Whether the box may be this one: by its own code, by serial, else by lot."""
    if isinstance(read, Unit):
        return read.pk == unit.pk
    if read.implant is None or read.implant.pk != unit.implant_id:
        return False
    if read.serial and unit.serial:
        return read.serial == unit.serial
    return bool(read.lot) and read.lot.upper() == unit.lot.upper()
