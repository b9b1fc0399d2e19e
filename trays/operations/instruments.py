"""Instruments between trays, out of them and back: an entry for both sides.  Each is one
transaction.

A tray is told at once: what it gave away is missing from it, what it got is not.  A count that is
open follows; one that is closed is begun anew first, for it would no longer be true.
"""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.models import Count, Instrument, InstrumentEntry, MissingLine, Tray, Way
from trays.operations.bench import here
from trays.operations.counts import closed_count
from trays.stages import Stage

UNWRAPPED = (Stage.RETURNED_USED, Stage.CLEANING, Stage.ASSEMBLY)
"""Where a tray lies open, in the order of the cycle: what is further on is cleaner."""
BEFORE_CLEANING = UNWRAPPED[:2]


@transaction.atomic
def move_instrument(
    *,
    instrument: Instrument,
    from_tray: Tray,
    to_tray: Tray,
    by: Person,
    now: datetime,
    quantity: int = 1,
    borrowed: bool = False,
) -> InstrumentEntry:
    """From one tray to another: it had come back with the wrong one, or it is borrowed.

    What is borrowed is missing from the tray that gave it until it is put back.  TrayRefused:
    elsewhere, same_tray, not_unwrapped, not_clean, count_closed, not_on_sheet (of the tray that
    gets it; of the one that lends it too), not_in_tray, nothing_missing (a tray borrows only what
    it lacks).
    """
    if from_tray.pk == to_tray.pk:
        raise TrayRefused("same_tray", tray=from_tray.code)
    giver, taker = _unwrapped(by, from_tray, to_tray)
    if UNWRAPPED.index(Stage(giver.stage)) < UNWRAPPED.index(Stage(taker.stage)):
        raise TrayRefused("not_clean", giver=giver.code, stage=giver.stage, taker=taker.code)
    _on_sheet(taker, instrument)
    lacks = _lacks(taker, instrument)
    if borrowed:
        if _on_sheet(giver, instrument) - _lacks(giver, instrument) < quantity:
            raise TrayRefused("not_in_tray", instrument=instrument.ref, tray=giver.code)
        if lacks < quantity:
            raise TrayRefused("nothing_missing", tray=taker.code, instrument=instrument.ref)
        _changed(giver, instrument, -quantity)
    _changed(taker, instrument, min(quantity, lacks))
    return _entered(
        instrument, quantity, Way.BORROWED if borrowed else Way.MIXED, by, now, giver, taker
    )


@transaction.atomic
def take_instrument_out(
    *,
    instrument: Instrument,
    tray: Tray,
    way: Way,
    by: Person,
    now: datetime,
    quantity: int = 1,
    note: str = "",
    back_on: date | None = None,
) -> InstrumentEntry:
    """Into infection quarantine, or to repair: the tray goes without it.

    TrayRefused: elsewhere, not_unwrapped, count_closed, not_on_sheet, not_in_tray.
    """
    (giver,) = _unwrapped(by, tray)
    if _on_sheet(giver, instrument) - _lacks(giver, instrument) < quantity:
        raise TrayRefused("not_in_tray", instrument=instrument.ref, tray=giver.code)
    _changed(giver, instrument, -quantity)
    return _entered(
        instrument, quantity, way, by, now, giver, note=note.strip()[:120], back_on=back_on
    )


@transaction.atomic
def put_instrument_back(
    *, entry: InstrumentEntry, by: Person, now: datetime, note: str = ""
) -> InstrumentEntry:
    """What was borrowed, quarantined or in repair, into the tray that it came from.

    From quarantine and repair it comes before cleaning, and goes through it with its tray; `note`
    says why it may be used again.  TrayRefused: elsewhere, not_away, not_unwrapped, not_clean,
    not_before_cleaning, count_closed, why_missing.
    """
    giver, taker = entry.to_tray, entry.from_tray
    if taker is None or entry.way in (Way.MIXED, Way.BACK):
        raise TrayRefused("not_away", instrument=entry.instrument.ref)
    # The trays are locked before it is looked whether somebody was faster.
    trays = {tray.pk: tray for tray in _unwrapped(by, *filter(None, (taker, giver)))}
    if InstrumentEntry.objects.filter(puts_back=entry).exists():
        raise TrayRefused("not_away", instrument=entry.instrument.ref)
    home = trays[taker.pk]
    note = note.strip()[:120]
    if giver is None and not note:
        raise TrayRefused("why_missing", instrument=entry.instrument.ref)
    if giver is None and home.stage not in BEFORE_CLEANING:
        raise TrayRefused(
            "not_before_cleaning",
            instrument=entry.instrument.ref,
            way=entry.way,
            tray=home.code,
            stage=home.stage,
        )
    if giver is not None:
        lender = trays[giver.pk]
        if UNWRAPPED.index(Stage(lender.stage)) < UNWRAPPED.index(Stage(home.stage)):
            raise TrayRefused("not_clean", giver=lender.code, stage=lender.stage, taker=home.code)
        _changed(lender, entry.instrument, -_held(lender, entry.instrument, entry.quantity))
    lacks = _lacks(home, entry.instrument)
    _changed(home, entry.instrument, min(entry.quantity, lacks))
    return _entered(
        entry.instrument,
        entry.quantity,
        Way.BACK,
        by,
        now,
        giver,
        home,
        puts_back=entry,
        note=note,
    )


def _unwrapped(by: Person, *trays: Tray) -> list[Tray]:
    """The trays, locked in order, each lying open with no closed count."""
    there = {tray.pk: here(tray, by) for tray in sorted(trays, key=lambda tray: tray.pk)}
    for tray in there.values():
        if tray.stage not in UNWRAPPED:
            raise TrayRefused("not_unwrapped", tray=tray.code, stage=tray.stage)
        if tray.stage == Stage.ASSEMBLY and closed_count(tray) is not None:
            raise TrayRefused("count_closed", tray=tray.code)
    return [there[tray.pk] for tray in trays]


def _on_sheet(tray: Tray, instrument: Instrument) -> int:
    """How many the tray's sheet has; TrayRefused where it has none."""
    line = tray.version.contents.filter(instrument=instrument).first()
    if line is None:
        raise TrayRefused("not_on_sheet", instrument=instrument.ref, tray=tray.code)
    return line.quantity


def _lacks(tray: Tray, instrument: Instrument) -> int:
    line = MissingLine.objects.filter(tray=tray, instrument=instrument).first()
    return line.quantity if line else 0


def _held(tray: Tray, instrument: Instrument, wanted: int) -> int:
    """As many as wanted, or as the tray has by its sheet: that may be another by now."""
    line = tray.version.contents.filter(instrument=instrument).first()
    return min(wanted, line.quantity - _lacks(tray, instrument)) if line else 0


def _changed(tray: Tray, instrument: Instrument, more: int) -> None:
    """So many more are in the tray, fewer where it is negative; an open count says so too."""
    if not more:
        return
    lacks = _lacks(tray, instrument) - more
    lines = MissingLine.objects.filter(tray=tray, instrument=instrument)
    if lacks <= 0:
        lines.delete()
    elif not lines.update(quantity=lacks):
        MissingLine.objects.create(tray=tray, instrument=instrument, quantity=lacks)
    going = Count.objects.filter(tray=tray, closed_at=None).first()
    line = going.lines.filter(instrument=instrument).first() if going else None
    if line is not None and line.present is not None:
        line.present = max(0, min(line.expected, line.present + more))
        line.broken = min(line.broken, line.expected - line.present)
        line.refilled = min(line.refilled, line.present)
        line.save(update_fields=["present", "broken", "refilled"])


def _entered(
    instrument: Instrument,
    quantity: int,
    way: Way,
    by: Person,
    now: datetime,
    from_tray: Tray | None = None,
    to_tray: Tray | None = None,
    *,
    puts_back: InstrumentEntry | None = None,
    note: str = "",
    back_on: date | None = None,
) -> InstrumentEntry:
    return InstrumentEntry.objects.create(
        instrument=instrument,
        quantity=quantity,
        way=way,
        from_tray=from_tray,
        to_tray=to_tray,
        puts_back=puts_back,
        note=note,
        back_on=back_on,
        at=now,
        by=by.user,
    )
