"""At the receiving bench: scan a box, look at it, scan its place.  Each is one transaction.

A box is received only with its place: that is when the person has said that its packaging is
intact and its label agrees with the catalogue.  What fails a check is entered in quarantine at
once.  A person has one box in hand; it is kept, so that nothing is lost when the page is.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.errors import ArrivalRefused
from implants.models import Arrival, Unit
from implants.models.arrival import IN_HAND, Outcome
from implants.operations.receiving import ended, received, settled, stopped
from implants.places import place_as_new
from implants.queries import boxes_like, use_by_of_lot, usual_owner
from implants.receiving.answers import Answer, stop
from implants.receiving.checks import Finding
from implants.receiving.words import REASONS, Word
from implants.shelf_reading import Label, Place, Read, Unreadable, read_at_shelf
from implants.states import GONE

LONGEST_KEPT = 400


@transaction.atomic
def scan_at_bench(
    *,
    text: str,
    by: Person,
    now: datetime,
    again: str = "",
    meant: Collection[int] = frozenset(),
) -> Answer:
    """Answer what was scanned: a box, a label's other code, or the place of the box in hand.

    `again`: the new place that the last answer asked to be confirmed.  `meant`: the keys of the
    awaited boxes that it is taken for, before others.  The same box twice is harmless.  At most
    40 queries.
    """
    in_hand = _locked_in_hand(by)
    half = in_hand if in_hand and in_hand.outcome == Outcome.HALF else None
    read = read_at_shelf(
        text,
        site=by.site,
        today=by.site.local(now).date(),
        first=half.text if half else "",
    )
    if in_hand is not None and half is None:
        return _with_a_box_in_hand(in_hand, text, read, by, now, again)
    if isinstance(read, Place):
        return stop("box first", asked="a box", read=read.name)
    if isinstance(read, Unit):
        return here(read)
    if isinstance(read, Unreadable) and not read.is_half:
        return stop("unreadable", asked="a box", read=read.shown, note=read.why)
    arrival = half or Arrival(site=by.site, by=by.user)
    arrival.at = now
    if isinstance(read, Unreadable) or (read.is_half and read.implant is not None):
        arrival.text = _kept(text)
        arrival.outcome = Outcome.HALF
        arrival.save()
        shown = read.shown if isinstance(read, Unreadable) else read.said()
        return Answer(Word.OTHER_CODE, arrival=arrival, read=shown)
    arrival.text = _kept(text)
    return _box(arrival, read, by, now, meant)


@transaction.atomic
def say_use_by(*, arrival: Arrival, expiry: date | None, by: Person, now: datetime) -> Answer:
    """The use-by date that the person read from the label; None: the box does not expire."""
    arrival = _locked(arrival, by)
    arrival.expiry, arrival.does_not_expire = expiry, expiry is None
    return settled(arrival, by, now)


@transaction.atomic
def refuse_at_bench(
    *, arrival: Arrival, code: str, by: Person, now: datetime, note: str = ""
) -> Answer:
    """What eyes saw: `packaging` or `label differs`.  The box goes to quarantine."""
    arrival = _locked(arrival, by)
    if not arrival.says_use_by:
        return stop("use by first", asked="a use-by date", read="none", arrival=arrival)
    said = f"{REASONS[code]}: {note}" if note else REASONS[code]
    found = Finding(code, "packaging intact, label as the catalogue says", said)
    return stopped(arrival, (found,), by, now)


@transaction.atomic
def set_aside(*, arrival: Arrival, by: Person, now: datetime, note: str = "") -> Arrival:
    """The box in hand is not received: scanned in error, or it goes back as it came."""
    there = _locked_in_hand(by)
    if there is None or there.pk != arrival.pk:
        raise ArrivalRefused("not_in_hand")
    return ended(there, Outcome.SET_ASIDE, by, now, note=note)


def arrival_in_hand(by: Person) -> Arrival | None:
    """The box that the person has before them.  One query."""
    mine = Arrival.objects.filter(site=by.site, by=by.user, outcome__in=IN_HAND)
    return mine.select_related("implant", "unit").first()


def here(unit: Unit) -> Answer:
    """The answer to a box that the house has a record of already."""
    if unit.state in GONE:
        said = f"{unit.state} for case {unit.case_ref}" if unit.case_ref else unit.state
        return stop("gone", asked="a box that is not in the record", read=f"{unit}: {said}")
    if unit.expected_at is not None:
        return stop("unreadable", asked="the maker's label", read=f"house code {unit}")
    where = f"{unit.state}, {unit.location or 'no place recorded'}"
    return Answer(Word.ALREADY_HERE, read=f"Box {unit}: {where}", note=unit.hold)


def _locked_in_hand(by: Person) -> Arrival | None:
    mine = Arrival.objects.select_for_update(of=("self",)).filter(
        site=by.site, by=by.user, outcome__in=IN_HAND
    )
    return mine.select_related("implant").first()


def _locked(arrival: Arrival, by: Person) -> Arrival:
    """The waiting box of the person as it stands now.  ArrivalRefused (not_in_hand)."""
    there = _locked_in_hand(by)
    if there is None or there.pk != arrival.pk or there.outcome != Outcome.WAITING:
        raise ArrivalRefused("not_in_hand")
    return there


def _with_a_box_in_hand(
    arrival: Arrival, text: str, read: Read, by: Person, now: datetime, again: str
) -> Answer:
    if isinstance(read, Place):
        return received(arrival, read.name, by, now)
    if _kept(text) == arrival.text:
        return Answer(Word.CHECK_BOX, arrival=arrival)
    if isinstance(read, Unreadable):
        place = place_as_new(text)
        if place is None:
            return stop("unreadable", asked="a place", read=read.shown, arrival=arrival)
        if place == again:
            return received(arrival, place, by, now)
        return stop(
            "new place", asked="a place of the shelf", read=place, arrival=arrival, new_place=place
        )
    said = read.said() if isinstance(read, Label) else f"box {read}"
    return stop("place first", asked="the place of the box in hand", read=said, arrival=arrival)


def _box(
    arrival: Arrival, label: Label, by: Person, now: datetime, meant: Collection[int]
) -> Answer:
    """A whole label: known here, not in the catalogue, or a box to be checked."""
    arrival.item, arrival.implant = label.item, label.implant
    arrival.lot, arrival.serial, arrival.expiry = label.lot, label.serial, label.expiry
    arrival.quantity, arrival.ref_on_label = label.quantity, label.ref_on_label
    arrival.cautions = list(label.cautions)
    if label.implant is None:
        ended(arrival, Outcome.NOT_IN_CATALOGUE, None, now)
        return stop("not in the catalogue", asked="an item of the catalogue", read=label.said())
    like = boxes_like(label.implant, label.lot, label.serial, meant)
    if like.same is not None:
        if arrival.pk:
            ended(arrival, Outcome.SET_ASIDE, by, now, note=f"box {like.same} again")
        return here(like.same)
    arrival.unit = like.awaited
    arrival.owner = like.awaited.owner if like.awaited else usual_owner(label.implant)
    if arrival.expiry is None:
        known = use_by_of_lot(label.implant, label.lot)
        if known is not None:
            arrival.expiry, arrival.does_not_expire = known
    return settled(arrival, by, now)


def _kept(text: str) -> str:
    return text.replace("\0", "").strip()[:LONGEST_KEPT]
