"""What differs between two versions of a list: as data, and in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from enum import StrEnum

from scheduling.pick_lists import words
from scheduling.pick_lists.values import Absent, Content, Kind, Line, Section


class Change(StrEnum):
    CASE_ADDED = "case added"
    CASE_TAKEN_OFF = "case taken off"
    CASE_CHANGED = "case changed"
    ADDED = "added"
    TAKEN_OFF = "taken off"
    REPLACED = "replaced"
    CHANGED = "changed"
    NOT_TO_HAND = "not to hand"
    TO_HAND = "no longer missing"


@dataclass(frozen=True, slots=True)
class Difference:
    """One change for one case: `what` it is about, how it was, how it is now (either may be "")."""

    case: str
    change: Change
    what: str
    old: str = ""
    new: str = ""

    def in_words(self) -> str:
        """`Case C-1042: ST-12H-225, LOT A box U1 replaced by LOT B box U2`"""
        if self.change in (Change.CASE_ADDED, Change.CASE_TAKEN_OFF):
            return f"Case {self.case}: {self.change.value.removeprefix('case ')}"
        if self.change is Change.REPLACED:
            return f"Case {self.case}: {self.what}, {self.old} replaced by {self.new}"
        if self.change in (Change.CHANGED, Change.CASE_CHANGED):
            return f"Case {self.case}: {self.what} was {self.old}, is {self.new}"
        detail = ", ".join(part for part in (self.what, self.old or self.new) if part)
        return f"Case {self.case}: {detail}, {self.change.value}"


def changes(old: Content, new: Content) -> tuple[Difference, ...]:
    """From the old version to the new one, in the new one's order."""
    before = {section.case: section for section in old.sections}
    after = {section.case: section for section in new.sections}
    found: list[Difference] = []
    for case in before.keys() - after.keys():
        found.append(Difference(case, Change.CASE_TAKEN_OFF, ""))
    found.sort(key=lambda difference: difference.case)
    for case, section in after.items():
        if case not in before:
            found.append(Difference(case, Change.CASE_ADDED, ""))
            continue
        found += _case_facts(before[case], section)
        found += _lines(case, before[case].lines, section.lines)
        found += _absent(case, before[case], section)
    return tuple(found)


def _case_facts(old: Section, new: Section) -> Iterator[Difference]:
    for what, was, now in (
        ("the verdict", old.verdict.value, new.verdict.value),
        ("the start", words.day_and_clock(old.start), words.day_and_clock(new.start)),
        ("the time it is needed by", _clock(old), _clock(new)),
        ("the theatre", old.theatre or "not stated", new.theatre or "not stated"),
        ("the side", old.side or "not stated", new.side or "not stated"),
    ):
        if was != now:
            yield Difference(new.case, Change.CASE_CHANGED, what, was, now)


def _clock(section: Section) -> str:
    return words.day_and_clock(section.needed_by)


def _lines(case: str, old: Sequence[Line], new: Sequence[Line]) -> Iterator[Difference]:
    gone = [line for line in old if _key(line) not in {_key(each) for each in new}]
    come = [line for line in new if _key(line) not in {_key(each) for each in old}]
    for line in come:
        # One piece of the same item for another: the picker swaps it, no more and no less.
        former = next(
            (each for each in gone if (each.kind, each.item) == (line.kind, line.item)), None
        )
        if former is None:
            yield Difference(case, Change.ADDED, _what(line), new=_piece(line))
        else:
            gone.remove(former)
            yield Difference(case, Change.REPLACED, _what(line), _piece(former), _piece(line))
    for line in gone:
        yield Difference(case, Change.TAKEN_OFF, _what(line), old=_piece(line))
    was = {_key(line): line for line in old}
    for line in new:
        if _key(line) in was:
            yield from _changed(case, was[_key(line)], line)


def _changed(case: str, old: Line, new: Line) -> Iterator[Difference]:
    for each in fields(Line):
        was, now = getattr(old, each.name), getattr(new, each.name)
        if was != now:
            name = "code on paper" if each.name == "link" else each.name.replace("_", " ")
            what = f"{_what(new)}, {_piece(new)}: {name}"
            yield Difference(
                case, Change.CHANGED, what, str(was or "not stated"), str(now or "not stated")
            )


def _key(line: Line) -> tuple[Kind, str]:
    return line.kind, line.code


def _what(line: Line) -> str:
    if line.kind is Kind.TRAY:
        return f"tray of {line.item}"
    return f"{line.item} ({line.words})" if line.words else line.item


def _piece(line: Line) -> str:
    if line.kind is Kind.TRAY:
        return line.code
    numbers = [f"LOT {line.lot}"] if line.lot else []
    numbers += [f"SN {line.serial}"] if line.serial else []
    return ", ".join([*numbers, f"box {line.code}"])


def _absent(case: str, old: Section, new: Section) -> Iterator[Difference]:
    was, now = _said(old), _said(new)
    for text in now:
        if text not in was:
            yield Difference(case, Change.NOT_TO_HAND, text)
    for text in was:
        if text not in now:
            yield Difference(case, Change.TO_HAND, text)


def _said(section: Section) -> dict[str, None]:
    return dict.fromkeys([*map(_absence, section.absent), *section.unsettled])


def _absence(absent: Absent) -> str:
    because = f" ({'; '.join(absent.because)})" if absent.because else ""
    return f"{absent.quantity} × {absent.what}, {absent.need.value}: {absent.state}{because}"
