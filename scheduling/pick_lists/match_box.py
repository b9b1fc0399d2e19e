"""A scanned box against the list."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime

from deploy.kit.attributes import ATTRIBUTES
from scheduling.coverage.values import Need
from scheduling.pick_lists.scan_values import (
    Answer,
    Asked,
    AskedLine,
    BoxRead,
    BoxState,
    Item,
    Word,
)
from scheduling.pick_lists.words import full_date

SAID_FIRST = ("size", "offset", "side")
"""What a tired person confuses: named in the answer before any other difference."""


def match_box(read: BoxRead, asked: Asked, *, now: datetime) -> Answer:
    """Judge a box.  Two equal boxes without a serial tick two lines, one after the other."""
    today = now.date()
    if read.item is None:
        return _stop("unknown item", "an item of the catalogue", read.said)
    lines = [line for line in asked.lines if line.box is not None and not line.is_over]
    same_box = [box for box in asked.boxes if is_label_of(read, box)]
    listed = [_box(line) for line in lines if is_label_of(read, _box(line))]
    if refusal := _not_usable(read, listed or same_box, today):
        return refusal
    of_item = [line for line in lines if _box(line).item.ref == read.item.ref]
    if not of_item:
        return _wrong_item(read, read.item, lines)
    of_box = [line for line in of_item if is_label_of(read, _box(line)) and not _box(line).gone]
    if not of_box:
        return _other_piece(read, read.item, of_item, same_box)
    return _right_box(read, of_box, [box for box in same_box if box not in listed])


def _right_box(read: BoxRead, lines: list[AskedLine], alike: list[BoxState]) -> Answer:
    """The box is on the list; the first line that it can tick, else why not.

    `alike`: boxes off the list which the label cannot tell from it.
    """
    line = next((line for line in lines if not line.ticked), lines[0])
    box = _box(line)
    if box.promised_to and box.promised_to != line.case:
        return _stop(
            "promised to another case",
            f"a box for case {line.case}",
            f"{_piece(box)}, reserved for case {box.promised_to}",
            line.id,
        )
    if box.awaited:
        return _stop("receipt not recorded", "a box that was received", _piece(box), line.id)
    if read.expiry is not None and read.expiry != box.expiry:
        record = f"use by {full_date(box.expiry)}" if box.expiry else "no use-by date"
        return _stop("other use-by date", record, f"use by {full_date(read.expiry)}", line.id)
    last_day = box.expiry
    if last_day is not None and last_day < line.end.date():
        return _stop(
            "expires before the case",
            f"use by {full_date(line.end.date())} or later, for case {line.case}",
            f"use by {full_date(last_day)}",
            line.id,
        )
    words = f"{box.item.in_words()}, {_piece(box)}"
    if line.ticked:
        return Answer(Word.ALREADY_SCANNED, "already scanned", line.id, words, words)
    notes = []
    if len(lines) > 1:
        number = 1 + sum(each.ticked for each in lines)
        notes.append(f"Box {number} of {len(lines)} with this REF and LOT: count the boxes.")
    notes += [
        f"Box {each.code} has the same REF and LOT and is on hold ({each.hold}): "
        "make sure that it is not this one."
        for each in alike
        if each.hold
    ]
    note = " ".join(notes)
    return Answer(Word.MATCHES_LIST, "matches", line.id, words, words, note)


def _not_usable(read: BoxRead, same_box: list[BoxState], today: date) -> Answer | None:
    held = next((box for box in same_box if box.hold), None)
    if held is not None:
        return _stop("on hold", "a box that is free", f"{_piece(held)}, on hold: {held.hold}")
    if same_box and all(box.gone for box in same_box):
        gone = same_box[0]
        return _stop("gone", "a box that is in the house", f"{_piece(gone)}: {gone.gone}")
    dates = [read.expiry, *(box.expiry for box in same_box)]
    last_day = min((each for each in dates if each is not None), default=None)
    if last_day is not None and last_day < today:
        return _stop(
            "expired", f"use by {full_date(today)} or later", f"use by {full_date(last_day)}"
        )
    return None


def _wrong_item(read: BoxRead, item: Item, lines: list[AskedLine]) -> Answer:
    """Not on the list: beside it, what the list asks for that is nearest to it."""
    of_role = [line for line in lines if _box(line).item.role == item.role]
    if not of_role:
        roles = ", ".join(dict.fromkeys(_box(line).item.role for line in lines))
        return _stop("not on this list", roles or "no implant", item.in_words())
    nearest = min(of_role, key=_distance(item))
    wanted = _box(nearest).item
    for key in SAID_FIRST:
        if item.attributes.get(key) != wanted.attributes.get(key):
            return _stop(f"other {ATTRIBUTES[key].label}", wanted.in_words(), item.in_words())
    return _stop(
        "other item",
        f"{wanted.in_words()} (REF {wanted.ref})",
        f"{item.in_words()} (REF {item.ref})",
    )


def _distance(item: Item) -> Callable[[AskedLine], tuple[int, int, int, int]]:
    """Open lines first, then the fewest differing attributes, then the level of need."""
    needs = list(Need)

    def distance(line: AskedLine) -> tuple[int, int, int, int]:
        wanted = _box(line).item.attributes
        differing = sum(
            wanted.get(key) != item.attributes.get(key) for key in {*wanted, *item.attributes}
        )
        return int(line.ticked), differing, needs.index(line.need), line.id

    return distance


def _other_piece(
    read: BoxRead, item: Item, of_item: list[AskedLine], same_box: list[BoxState]
) -> Answer:
    """The right item in another box: reserved elsewhere, another lot, another serial."""
    line = next((line for line in of_item if not line.ticked), of_item[0])
    wanted = _box(line)
    promised = next(
        (box for box in same_box if box.promised_to and box.promised_to != line.case), None
    )
    if promised is not None:
        return _stop(
            "promised to another case",
            f"{_piece(wanted)} for case {line.case}",
            f"{_piece(promised)}, reserved for case {promised.promised_to}",
            line.id,
        )
    if not read.lot and not read.serial:
        return _stop("lot not read", _piece(wanted), f"{item.in_words()}, no LOT", line.id)
    lots = {_box(each).lot for each in of_item}
    code = "other serial" if read.lot in lots and read.serial else "other lot"
    asked = "; ".join(dict.fromkeys(_piece(_box(each)) for each in of_item))
    return _stop(code, asked, _label(read), line.id)


def is_label_of(read: BoxRead, box: BoxState) -> bool:
    """Whether the label may be this box's: nothing that both state differs, and one thing agrees.

    A box that is on record without lot and serial answers to a label without them alone.
    """
    if read.code:
        return read.code == box.code
    if read.item is None or read.item.ref != box.item.ref:
        return False
    if read.serial and box.serial:
        return read.serial == box.serial and (not read.lot or read.lot == box.lot)
    if read.lot or box.lot:
        return read.lot == box.lot
    return not read.serial and not box.serial


def _piece(box: BoxState) -> str:
    """`LOT A213, SN 12, box U017`"""
    return ", ".join([*_numbers(box.lot, box.serial), f"box {box.code}"])


def _label(read: BoxRead) -> str:
    return ", ".join(_numbers(read.lot, read.serial)) or read.said


def _numbers(lot: str, serial: str) -> list[str]:
    return ([f"LOT {lot}"] if lot else []) + ([f"SN {serial}"] if serial else [])


def _box(line: AskedLine) -> BoxState:
    assert line.box is not None
    return line.box


def _stop(code: str, asked: str, read: str, line: int | None = None) -> Answer:
    return Answer(Word.STOP, code, line, asked, read)
