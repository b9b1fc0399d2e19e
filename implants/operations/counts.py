"""Count the boxes in some places, and settle every difference.  Each is one transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person, Site
from implants.counting.answers import Answer, Word, answer
from implants.errors import CountRefused
from implants.models import Count, CountLine, Unit
from implants.models.count import Explained, Found
from implants.operations.holds import quarantine
from implants.operations.shelf import put_away
from implants.shelf_reading import Label, Place, Read, Unreadable, read_at_shelf
from implants.states import HELD, UnitState

LIES = (UnitState.ON_THE_SHELF, *HELD)
"""A box in these states is in its place, if it is not on its way."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """`how` None: the difference stays open."""

    how: Explained | None
    note: str = ""

    @property
    def lacks_its_note(self) -> bool:
        return self.how is Explained.OTHER and not self.note.strip()


@transaction.atomic
def open_count(*, places: Sequence[str], is_blind: bool, by: Person, now: datetime) -> Count:
    """List what is recorded in the places.  CountRefused: no_place, counted_already."""
    wanted = sorted(set(places))
    if not wanted:
        raise CountRefused("no_place")
    # One count at a time is opened, so that no place is in two.
    Site.objects.select_for_update().get(pk=by.site_id)
    running = Count.objects.filter(site=by.site, closed_at=None)
    busy = sorted({place for one in running for place in one.places} & set(wanted))
    if busy:
        raise CountRefused("counted_already", places=busy)
    made = Count.objects.create(
        site=by.site,
        places=wanted,
        at_place=wanted[0],
        is_blind=is_blind,
        opened_at=now,
        opened_by=by.user,
    )
    boxes = Unit.objects.filter(site=by.site, location__in=wanted, state__in=LIES, expected_at=None)
    CountLine.objects.bulk_create(
        CountLine(
            count=made,
            place=box.location,
            found=Found.EXPECTED,
            unit=box,
            seq=box.seq,
            implant_id=box.implant_id,
        )
        for box in boxes.order_by("location", "code")
    )
    return made


@transaction.atomic
def scan_at_count(*, count: Count, text: str, by: Person, now: datetime, first: str = "") -> Answer:
    """Count the box, or say what is odd about it; a place's code changes the place.

    The same box twice is harmless where its label tells it from others; boxes of one lot without
    serials are counted one by one.  `first`: the label's other code, scanned before.
    CountRefused: count_closed, count_elsewhere.
    """
    there = _locked(count, by)
    today = there.site.local(now).date()
    read = read_at_shelf(text, site=there.site, today=today, first=first)
    if isinstance(read, Place):
        if read.name not in there.places:
            return Answer(Word.STOP, "Not part of this count", read.name, "; ".join(there.places))
        there.at_place = read.name
        there.save(update_fields=["at_place"])
        return Answer(Word.PLACE, read=read.name)
    if isinstance(read, Unreadable) and read.is_half:
        return Answer(Word.HALF, read=read.shown, first=text)
    if isinstance(read, Label) and read.is_half and read.implant is not None:
        return Answer(Word.HALF, read=read.said(), first=text)
    return _counted(there, read, there.at_place, by, now)


@transaction.atomic
def count_box(*, count: Count, unit: Unit, place: str, by: Person, now: datetime) -> Answer:
    """The box of the house was found at that place of the count: as if it were scanned there.

    CountRefused: count_closed, count_elsewhere, not_counted_there.
    """
    there = _locked(count, by)
    if place not in there.places or unit.site_id != there.site_id:
        raise CountRefused("not_counted_there", count=str(there), place=place)
    return _counted(there, unit, place, by, now)


def _counted(
    count: Count, read: Label | Unit | Unreadable, place: str, by: Person, now: datetime
) -> Answer:
    implant = read.implant if isinstance(read, Label | Unit) else None
    lines = count.lines.filter(implant=implant).select_related("unit") if implant else []
    listed = [line.unit_id for line in lines if line.unit_id is not None]
    others = Unit.objects.filter(implant=implant, state__in=LIES, expected_at=None)
    given = answer(
        read,
        place=place,
        lines=list(lines),
        elsewhere=list(others.exclude(pk__in=listed)) if implant else [],
    )
    if _noted_before(count, given, read):
        return Answer(Word.ALREADY, read=given.read)
    _keep(count, given, read.implant if isinstance(read, Label) else None, place, by, now)
    return given


@transaction.atomic
def close_count(
    *,
    count: Count,
    explanations: Mapping[int, Explanation],
    by: Person,
    now: datetime,
) -> Count:
    """Settle what is explained, by line; the other differences stay open.

    A box that moved since it was listed is no difference.  CountRefused: count_closed,
    count_elsewhere, note_missing.
    """
    there = _locked(count, by)
    odd = [line for line in there.lines.select_related("unit") if line.is_difference]
    said = {line: explanations.get(line.pk, Explanation(None)) for line in odd}
    unsaid = [str(line) for line, one in said.items() if one.lacks_its_note]
    if unsaid:
        raise CountRefused("note_missing", lines=unsaid)
    for line, one in said.items():
        _settle(line, one, by, now)
    there.closed_at, there.closed_by = now, by.user
    there.save()
    return there


@transaction.atomic
def settle_difference(
    *, line: CountLine, explanation: Explanation, by: Person, now: datetime
) -> CountLine:
    """Explain a difference that stayed open when its count was closed."""
    rows = CountLine.objects.select_for_update(of=("self",)).select_related("unit", "count")
    there = rows.filter(pk=line.pk, count__site=by.site, explained="").first()
    if there is None or there.count.is_open or not there.is_difference:
        raise CountRefused("difference_settled")
    if explanation.lacks_its_note:
        raise CountRefused("note_missing", lines=[str(there)])
    _settle(there, explanation, by, now)
    return there


def _noted_before(count: Count, given: Answer, read: Read) -> bool:
    """A box that is not in the record, scanned again: its serial tells."""
    if given.found is not Found.NOT_IN_RECORD or not (isinstance(read, Label) and read.serial):
        return False
    return count.lines.filter(found=Found.NOT_IN_RECORD, read=given.read[:200]).exists()


def _locked(count: Count, by: Person) -> Count:
    rows = Count.objects.select_for_update(of=("self",)).select_related("site")
    there = rows.filter(pk=count.pk, site=by.site).first()
    if there is None:
        raise CountRefused("count_elsewhere")
    if not there.is_open:
        raise CountRefused("count_closed", count=str(there))
    return there


def _keep(
    count: Count, given: Answer, implant: object, place: str, by: Person, now: datetime
) -> None:
    """What the answer means for the lines."""
    if given.word is Word.COUNTED and given.line is not None:
        given.line.counted_at, given.line.counted_by = now, by.user
        given.line.save()
    elif given.found is not None:
        line = given.line or CountLine(count=count, unit=given.unit, implant=implant)  # type: ignore[misc]
        line.found, line.place, line.read = given.found, place, given.read[:200]
        if given.unit is not None:
            line.seq, line.implant_id = given.unit.seq, given.unit.implant_id
        line.counted_at, line.counted_by = now, by.user
        line.save()


def _settle(line: CountLine, said: Explanation, by: Person, now: datetime) -> None:
    unit = line.unit
    if unit is not None and unit.seq != line.seq:
        line.explained = Explained.MOVED
    elif said.how is not None and said.how in line.may_be:
        line.explained, line.note = said.how, said.note.strip()
        _act(line, unit, by, now)
    line.save()


def _act(line: CountLine, unit: Unit | None, by: Person, now: datetime) -> None:
    """The movement that the explanation calls for."""
    if unit is None:
        return
    if line.explained == Explained.MISSING and unit.state != UnitState.RECALLED:
        reason = f"missing at count {line.count_id}"
        note = f"{reason}: {line.note}" if line.note else reason
        quarantine(unit=unit, reason=note[:120], by=by, now=now)
    elif line.explained == Explained.PUT_AWAY and unit.state == UnitState.ON_THE_SHELF:
        put_away(unit=unit, location=line.place, by=by, now=now)
    elif line.explained == Explained.PUT_AWAY:
        Unit.objects.filter(pk=unit.pk).update(location=line.place)
