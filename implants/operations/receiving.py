"""What becomes of a box at the bench, inside the transaction of `bench`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from deploy.kit.models import Person, Site
from implants.box_codes import new_box_codes
from implants.models import Arrival, Implant, Unit, shelf_settings
from implants.models.arrival import Outcome
from implants.operations.holds import recall
from implants.operations.shelf import enter_unit, put_away, receive_unit
from implants.queries import boxes_like, recalled_because
from implants.receiving.answers import Answer, stop, stopped_by
from implants.receiving.checks import BoxRead, Finding, Known, findings
from implants.receiving.words import ASIDE, REASONS, Word
from implants.states import HELD

BENCH = "Receiving bench"
QUARANTINE_SHELF = "Quarantine shelf"
LONGEST_REASON = 120


def settled(arrival: Arrival, by: Person, now: datetime) -> Answer:
    """Ask for what is not said yet, stop what fails a check, else have the place scanned."""
    found = checked(arrival, now) if arrival.says_use_by else ()
    if found:
        return stopped(arrival, found, by, now)
    arrival.outcome = Outcome.WAITING
    arrival.save()
    return Answer(Word.CHECK_BOX, arrival=arrival)


def received(arrival: Arrival, place: str, by: Person, now: datetime) -> Answer:
    """The box is here, looked at, and in its place.  Checked once more: a recall may have come
    since it was scanned, and another bench may have received it."""
    if not arrival.says_use_by:
        return stop("use by first", asked="a use-by date", read="none", arrival=arrival)
    implant = _locked_implant(arrival)
    same = boxes_like(implant, arrival.lot, arrival.serial).same
    if same is not None:
        ended(arrival, Outcome.SET_ASIDE, by, now, note=f"box {same} again")
        where = f"Box {same}: {same.state}, {same.location or 'no place recorded'}"
        return Answer(Word.ALREADY_HERE, read=where)
    if found := checked(arrival, now):
        return stopped(arrival, found, by, now)
    unit = _entered(arrival, implant, by, now)
    if unit.state in HELD:
        arrival.unit, arrival.findings = unit, [Finding("on hold", "", unit.hold).as_json()]
        ended(arrival, Outcome.QUARANTINE, by, now)
        return stop("on hold", asked="a box without a hold", read=f"{unit}: {unit.hold}")
    arrival.unit = put_away(unit=unit, location=place, by=by, now=now)
    ended(arrival, Outcome.RECEIVED, by, now)
    return Answer(
        Word.RECEIVED, arrival=arrival, read=f"{implant.in_words()}, box {unit}", note=place
    )


def stopped(arrival: Arrival, found: Sequence[Finding], by: Person, now: datetime) -> Answer:
    """Into quarantine with the reason; what is no box of ours is put aside instead."""
    arrival.findings = [one.as_json() for one in found]
    if any(one.code in ASIDE for one in found):
        ended(arrival, Outcome.SET_ASIDE, by, now)
        return stopped_by(found, arrival)
    reason = "; ".join(_reason(one) for one in found)[:LONGEST_REASON]
    unit = _entered(arrival, _locked_implant(arrival), by, now, reason=reason)
    if any(one.code == "recalled" for one in found):
        (unit,) = recall(units=[unit], reason=reason, by=by, now=now)
    arrival.unit = unit
    ended(arrival, Outcome.QUARANTINE, by, now)
    return stopped_by(found, arrival)


def checked(arrival: Arrival, now: datetime) -> tuple[Finding, ...]:
    """Two queries."""
    implant = arrival.implant
    assert implant is not None, "a box that is not in the catalogue is not checked"
    box = BoxRead(
        ref=implant.ref,
        lot=arrival.lot,
        serial=arrival.serial,
        expiry=arrival.expiry,
        quantity=arrival.quantity,
        ref_on_label=arrival.ref_on_label,
    )
    known = Known(
        today=arrival.site.local(now).date(),
        least_days_left=shelf_settings(arrival.site).least_days_left,
        recalled=recalled_because(implant, arrival.lot, arrival.serial),
    )
    return findings(box, known)


def ended(
    arrival: Arrival, outcome: Outcome, by: Person | None, now: datetime, note: str = ""
) -> Arrival:
    """`by` None: the box is off the bench, but somebody has yet to decide."""
    arrival.outcome = outcome
    arrival.note = note[:LONGEST_REASON]
    if by is not None:
        arrival.ended_at, arrival.ended_by = now, by.user
    arrival.save()
    return arrival


def _locked_implant(arrival: Arrival) -> Implant:
    """Locked against another bench with the same box, and against a recall of its lot."""
    assert arrival.implant is not None
    return Implant.objects.select_for_update().get(pk=arrival.implant.pk)


def _entered(
    arrival: Arrival, implant: Implant, by: Person, now: datetime, reason: str = ""
) -> Unit:
    """The awaited box with what its label says, or a new one; received."""
    said = {
        "lot": arrival.lot,
        "serial": arrival.serial,
        "expiry": arrival.expiry,
        "does_not_expire": arrival.does_not_expire,
        "owner": arrival.owner,
        "location": QUARANTINE_SHELF if reason else "",
    }
    # The box that it was taken for when it was scanned, unless that was received meanwhile.
    meant = {arrival.unit_id} if arrival.unit_id else set()
    awaited = boxes_like(implant, arrival.lot, arrival.serial, meant).awaited
    if awaited is None:
        # One bench at a time takes the next code.
        Site.objects.select_for_update().get(pk=arrival.site_id)
        (code,) = new_box_codes(arrival.site, 1)
        unit = Unit(site=arrival.site, implant=implant, code=code, **said)
        return enter_unit(unit=unit, by=by, now=now, reason=reason, station=BENCH)
    for name, value in said.items():
        setattr(awaited, name, value)
    awaited.save(update_fields=list(said))
    return receive_unit(unit=awaited, by=by, now=now, reason=reason, station=BENCH)


def _reason(found: Finding) -> str:
    if found.code in ("packaging", "label differs"):
        return found.read
    if found.code == "recalled":
        return found.read.partition(": ")[2]
    return f"{REASONS[found.code]} ({found.read})"
