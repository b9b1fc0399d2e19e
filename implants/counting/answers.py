"""What a scan at a count means: which line it counts, or which difference it is.  On values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from implants.models import CountLine, Unit
from implants.models.count import Found
from implants.shelf_reading import Label, Unreadable


class Word(StrEnum):
    COUNTED = "COUNTED"
    ALREADY = "ALREADY SCANNED"
    PLACE = "NEXT PLACE"
    HALF = "SCAN THE OTHER CODE"
    STOP = "STOP"


KINDS: Mapping[Word, str] = {
    Word.COUNTED: "matches",
    Word.ALREADY: "already",
    Word.PLACE: "ask",
    Word.HALF: "ask",
    Word.STOP: "stop",
}


@dataclass(frozen=True, slots=True)
class Answer:
    """`line`: the line that is counted.  `found`: a difference, of `unit` where it is known.
    `first`: half of a label, to be read with its other code."""

    word: Word
    title: str = ""
    read: str = ""
    asked: str = ""
    what_to_do: str = ""
    line: CountLine | None = None
    found: Found | None = None
    unit: Unit | None = None
    first: str = ""

    def as_shown(self) -> dict[str, str]:
        return {
            "word": self.word.value,
            "kind": KINDS[self.word],
            "title": self.title,
            "read": self.read,
            "asked": self.asked,
            "what_to_do": self.what_to_do,
            "first": self.first,
        }


def answer(
    read: Label | Unit | Unreadable,
    *,
    place: str,
    lines: Sequence[CountLine],
    elsewhere: Sequence[Unit],
) -> Answer:
    """`lines`: of the count, of the same item or box.  `elsewhere`: boxes of the house that it may
    be and that the count does not expect."""
    if isinstance(read, Unreadable):
        return Answer(Word.STOP, "Not readable", read.shown, "a box or a place", read.why)
    said = read.said() if isinstance(read, Label) else f"box {read}"
    alike = [line for line in lines if line.unit is not None and fits(read, line.unit)]
    left = [line for line in alike if not line.is_counted]
    here = [line for line in left if line.place == place]
    if here:
        return Answer(Word.COUNTED, read=said, line=here[0])
    if left:
        return _elsewhere(said, place, left[0].place, line=left[0], unit=left[0].unit)
    counted = [line for line in alike if line.is_counted]
    if counted and is_one_box(read, counted[0]):
        return Answer(Word.ALREADY, read=said)
    others = [unit for unit in elsewhere if fits(read, unit)]
    if others:
        return _elsewhere(said, place, others[0].location, unit=others[0])
    return Answer(
        Word.STOP,
        "Not in the record" if not counted else "One more than recorded",
        said,
        f"a box recorded at {place}",
        "Put it aside; say at the end what it is.",
        found=Found.NOT_IN_RECORD,
    )


def fits(read: Label | Unit, unit: Unit) -> bool:
    """Whether the box may be this one: by its own code, by serial, else by lot."""
    if isinstance(read, Unit):
        return read.pk == unit.pk
    if read.implant is None or read.implant.pk != unit.implant_id:
        return False
    if read.serial and unit.serial:
        return read.serial == unit.serial
    return read.lot.upper() == unit.lot.upper()


def is_one_box(read: Label | Unit, line: CountLine) -> bool:
    """Whether the same scan can only be the same box: boxes of one lot scan alike."""
    if isinstance(read, Unit):
        return True
    return bool(read.serial) and line.unit is not None and line.unit.serial == read.serial


def _elsewhere(
    said: str, place: str, belongs: str, *, unit: Unit | None, line: CountLine | None = None
) -> Answer:
    return Answer(
        Word.STOP,
        "Belongs elsewhere",
        f"{said}, here at {place}",
        f"its place, {belongs or 'not recorded'}",
        "Leave it or put it back; say at the end which.",
        line=line,
        found=Found.ELSEWHERE,
        unit=unit,
    )
