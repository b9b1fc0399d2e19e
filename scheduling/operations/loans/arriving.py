"""A loan is here: its trays are checked in, its boxes scanned.  Each is one transaction."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.models import Arrival
from implants.models.arrival import Outcome
from implants.operations.bench import arrival_in_hand, scan_at_bench
from implants.operations.shelf import strike_unit
from implants.places import place_as_new, place_named
from implants.receiving.answers import Answer, stop
from implants.receiving.words import Word
from implants.shelf_reading import Label, Place, read_at_shelf
from scheduling.coverage.clock import NEVER, Clock, moment
from scheduling.errors import Refused
from scheduling.facts_of_site import site_values
from scheduling.loans.states import TO_COME, LoanKind, LoanState
from scheduling.loans.words import trays_and_boxes
from scheduling.models import Loan, LoanTray
from scheduling.operations.loans.asking import awaited_units, expect_all
from scheduling.operations.loans.recording import locked_loan, record
from scheduling.sterile.forecast import forecast_at
from scheduling.tray_uses import FOR_EVER
from trays.models import Tray
from trays.operations.loans import expect_tray, receive_lent_tray
from trays.stages import Stage


@transaction.atomic
def loan_arrived(
    *,
    loan: Loan,
    delivery_note: str,
    place: str,
    by: Person,
    now: datetime,
    seq: int | None = None,
) -> Loan:
    """The consignment is in the house, and not looked at yet.

    Nothing of it is received: its trays and boxes stay awaited until each is checked in, and are
    overdue, for no case to lean on, once the time that the house gives a check-in has passed.
    `place`: where its boxes are put.  Refused: loan_is, place_unusable.
    """
    there = locked_loan(loan, by, *TO_COME, doing="taking it in", seq=seq)
    if there.lines.exists():
        where = place_named(place, there.site) or place_as_new(place)
        if where is None:
            raise Refused("place_unusable", place=place[:60])
        there.place = where
        there.save(update_fields=["place"])
    clock = Clock(site_values(there.site, now))
    at = clock.after(clock.now + 1, clock.site.loan_check_in_minutes)
    due = FOR_EVER if at >= NEVER else moment(at)
    expect_all(there, due, by, now)
    return record(
        there,
        LoanKind.ARRIVE,
        to=LoanState.ARRIVED,
        delivery_note=delivery_note.strip()[:64],
        expected_at=due,
        by=by,
        now=now,
    )


@dataclass(frozen=True, slots=True)
class Looked:
    """What a person found of a tray.  `missing`: {REF: quantity} of its count sheet.
    `weight_grams` None: not weighed.  `asset`: what its own tag says."""

    is_sound: bool
    certificate: str = ""
    has_instructions: bool = False
    weight_grams: int | None = None
    missing: Mapping[str, int] = field(default_factory=dict)
    note: str = ""
    asset: str = ""

    @property
    def faults(self) -> str:
        """What keeps it from the washer; empty if nothing does.  Weight is warned of only, and a
        missing instrument keeps it from those cases alone that need it."""
        found = [
            "" if self.is_sound else f"not sound{f' ({self.note.strip()})' if self.note else ''}",
            "" if self.certificate.strip() else "no certificate of decontamination",
            "" if self.has_instructions else "no instructions for reprocessing",
        ]
        said = ", ".join(part for part in found if part)
        return f"loan: {said}" if said else ""


@transaction.atomic
def check_in_tray(
    *, line: LoanTray, looked: Looked, by: Person, now: datetime, seq: int | None = None
) -> Tray:
    """The tray is here, as it was found.  `seq`: of the tray.

    It begins the whole cycle, or waits in quarantine for what is wrong with it.  Refused: loan_is,
    tray_checked_in; TrayRefused as `receive_lent_tray`; MoveRefused (seq_stale).
    """
    loan = locked_loan(line.loan, by, LoanState.ARRIVED, doing="checking its trays in")
    there = LoanTray.objects.select_for_update(of=("self",)).select_related("tray").get(pk=line.pk)
    if there.checked_at is not None:
        raise Refused("tray_checked_in", tray=there.tray.code)
    if seq is not None and there.tray.seq != seq:
        raise Refused("tray_checked_in", tray=there.tray.code)
    tray = receive_lent_tray(
        tray=there.tray,
        missing=looked.missing,
        faults=looked.faults,
        asset=looked.asset,
        forecast=forecast_at(loan.site, now),
        by=by,
        now=now,
    )
    there.checked_at, there.checked_by = now, by.user
    there.is_sound, there.has_instructions = looked.is_sound, looked.has_instructions
    there.certificate = looked.certificate.strip()[:64]
    there.weight_grams, there.note = looked.weight_grams, looked.note.strip()[:80]
    there.save()
    return tray


@transaction.atomic
def scan_in_box(*, loan: Loan, text: str, by: Person, now: datetime, again: str = "") -> Answer:
    """A box against the delivery note.  The same checks as at the bench; what fails goes to
    quarantine.

    A box is received with the next scan: that of the next box, or of a place.  By going on, the
    person says that the packaging of the one in hand is intact and its label agrees.  A box of
    which no more is on the note is not taken in.  Refused: loan_is.
    """
    there = locked_loan(loan, by, LoanState.ARRIVED, doing="scanning its boxes")
    in_hand = arrival_in_hand(by)
    half = in_hand.text if in_hand and in_hand.outcome == Outcome.HALF else ""
    today = there.site.local(now).date()
    read = read_at_shelf(text, site=there.site, today=today, first=half)
    is_whole = isinstance(read, Label) and not read.is_half
    if in_hand and not half and is_whole and text.strip() != in_hand.text:
        before = put_in_place(loan=there, by=by, now=now)
        if before.word is not Word.RECEIVED:
            return before
    if isinstance(read, Place) and in_hand is None:
        there.place = read.name
        there.save(update_fields=["place"])
        return Answer(Word.CHECK_BOX, read=f"Boxes go to {read.name} from here on.")
    meant = awaited_units(there)
    if isinstance(read, Label) and is_whole and read.implant is not None:
        open_items = {unit.implant_id for unit in meant}
        serials = {unit.serial for unit in meant}
        known = read.serial and read.serial in serials
        if read.implant.pk not in open_items and not known:
            return _not_on_note(read)
    return scan_at_bench(
        text=text, by=by, now=now, again=again, meant=frozenset(unit.pk for unit in meant)
    )


def _not_on_note(read: Label) -> Answer:
    return stop(
        "not on the note", asked="an item of which more is on the delivery note", read=read.said()
    )


@transaction.atomic
def put_in_place(*, loan: Loan, by: Person, now: datetime) -> Answer:
    """The box in hand is as it should be, and lies where the loan's boxes go."""
    there = locked_loan(loan, by, LoanState.ARRIVED, doing="scanning its boxes")
    return scan_at_bench(text=there.place, again=there.place, by=by, now=now)


@transaction.atomic
def end_check_in(*, loan: Loan, by: Person, now: datetime, seq: int | None = None) -> Loan:
    """All that came is checked in; what did not come is awaited no more.

    Refused: loan_is, box_in_hand (one that was scanned here has no place yet).
    """
    there = locked_loan(loan, by, LoanState.ARRIVED, doing="ending its check-in", seq=seq)
    awaited = awaited_units(there)
    in_hand = Arrival.objects.filter(site=there.site, outcome=Outcome.WAITING, unit__in=awaited)
    if in_hand.exists():
        raise Refused("box_in_hand", loan=there.code)
    trays = list(there.trays.filter(checked_at=None).select_related("tray"))
    for line in trays:
        if line.tray.stage == Stage.WITH_SUPPLIER:
            expect_tray(tray=line.tray, expected_at=None, by=by, now=now)
    for unit in awaited:
        strike_unit(unit=unit, reason=f"not in the consignment {there.code}", by=by, now=now)
    missed = {unit.pk for unit in awaited}
    for loan_line in there.lines.prefetch_related("boxes"):
        short = sum(box.unit_id in missed for box in loan_line.boxes.all())
        if short:
            loan_line.not_delivered += short
            loan_line.save(update_fields=["not_delivered"])
    said = trays_and_boxes(len(trays), len(awaited))
    return record(
        there,
        LoanKind.END_CHECK_IN,
        to=LoanState.CHECKED_IN,
        reason=f"{said} did not come" if said else "all came",
        by=by,
        now=now,
    )
