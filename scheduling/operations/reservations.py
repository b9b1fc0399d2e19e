"""Promise boxes and trays to a case, and take a promise back.

Each write is one transaction.  What is made scarcer is locked first and checked then; the
database's own rules (constraints, and `scheduling.guards`) stand behind the check.  Reserving
what the case already holds changes nothing.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.models import Unit
from implants.states import STOCK, UnitState
from scheduling.coverage.clock import Clock
from scheduling.errors import Refused
from scheduling.facts_of_site import site_values
from scheduling.models import Case, TrayReservation, UnitReservation
from scheduling.operations.locks import locked_open_case, locked_tray, locked_unit
from scheduling.tray_uses import FOR_EVER, busy
from trays.models import Tray
from trays.stages import HELD_STAGES


@transaction.atomic
def reserve_unit(*, case: Case, unit: Unit, by: Person, now: datetime) -> UnitReservation:
    """Promise the box to the case.

    Refused: unit_elsewhere, unit_on_hold, unit_gone, unit_picked (for another case), unit_expired
    (use by is inclusive, against the local date of the case's end), unit_wrong_side,
    unit_promised (names the other case), case_is_over.
    """
    case = locked_open_case(case)
    unit = locked_unit(unit)
    held = UnitReservation.objects.select_related("case").filter(unit=unit, freed_at=None).first()
    if held is not None and held.case_id == case.pk:
        return held
    _check_unit(case, unit)
    if held is not None:
        raise Refused("unit_promised", unit=unit.code, other=held.case.ref)
    return UnitReservation.objects.create(
        case=case, unit=unit, at=now, by=by.user, used_on=case.site.local(case.end).date()
    )


def _check_unit(case: Case, unit: Unit) -> None:
    if unit.site_id != case.site_id:
        raise Refused("unit_elsewhere", unit=unit.code)
    if unit.hold:
        raise Refused("unit_on_hold", unit=unit.code, hold=unit.hold)
    if unit.state not in STOCK:
        raise Refused("unit_gone", unit=unit.code, state=unit.state or "not entered yet")
    if unit.state == UnitState.PICKED and unit.case_ref != case.ref:
        raise Refused("unit_picked", unit=unit.code, other=unit.case_ref)
    day = case.site.local(case.end).date()
    if unit.expiry is not None and unit.expiry < day:
        raise Refused("unit_expired", unit=unit.code, case=case.ref, expiry=unit.expiry, day=day)
    side = unit.implant.attributes.get("side", "")
    if side and case.side and side != case.side:
        raise Refused(
            "unit_wrong_side",
            unit=unit.code,
            unit_side=side,
            case=case.ref,
            case_side=case.side,
        )


@transaction.atomic
def free_unit(*, case: Case, unit: Unit, by: Person, now: datetime) -> None:
    """Take the promise back.  Refused (unit_not_reserved) where the case does not hold it."""
    live = UnitReservation.objects.filter(case=case, unit=unit, freed_at=None)
    if live.update(freed_at=now) != 1:
        raise Refused("unit_not_reserved", unit=unit.code, case=case.ref)


@transaction.atomic
def reserve_tray(*, case: Case, tray: Tray, by: Person, now: datetime) -> TrayReservation:
    """Promise the tray to the case.  A tray may be promised to several cases, one after the other.

    Refused: tray_elsewhere, tray_on_hold, tray_promised (another case has it, or it cannot be
    ready again in time, even by the fast track), case_is_over.
    """
    case = locked_open_case(case)
    tray = locked_tray(tray)
    held = TrayReservation.objects.filter(tray=tray, case=case, freed_at=None).first()
    if held is not None:
        return held
    if tray.site_id != case.site_id:
        raise Refused("tray_elsewhere", tray=tray.code)
    if tray.stage in HELD_STAGES and tray.expected_at is None:
        raise Refused("tray_on_hold", tray=tray.code, stage=tray.stage)
    clock = Clock(site_values(case.site, now))
    begins, ends = busy(clock, case.start, case.minutes, tray.configuration.shortest_turnaround)
    other = _in_the_way(case, tray, begins, ends)
    if other is not None:
        raise Refused(
            "tray_promised",
            tray=tray.code,
            other=other.case.ref,
            begins=case.site.local(other.busy_from),
            until=_said(case, other.busy_until),
        )
    return TrayReservation.objects.create(
        case=case, tray=tray, at=now, by=by.user, busy_from=begins, busy_until=ends
    )


def _in_the_way(case: Case, tray: Tray, begins: datetime, ends: datetime) -> TrayReservation | None:
    """The first live use of the tray for another case in that time."""
    live = TrayReservation.objects.filter(tray=tray, freed_at=None).exclude(case=case)
    return (
        live.filter(busy_from__lt=ends, busy_until__gt=begins)
        .select_related("case")
        .order_by("busy_from", "case__ref")
        .first()
    )


def _said(case: Case, until: datetime) -> datetime | str:
    return "further notice" if until == FOR_EVER else case.site.local(until)


@transaction.atomic
def free_tray(*, case: Case, tray: Tray, by: Person, now: datetime) -> None:
    """Take the promise back.  Refused (tray_not_reserved) where the case does not hold it."""
    live = TrayReservation.objects.filter(case=case, tray=tray, freed_at=None)
    if live.update(freed_at=now) != 1:
        raise Refused("tray_not_reserved", tray=tray.code, case=case.ref)


def keep_what_can_be_kept(*, case: Case, now: datetime) -> None:
    """Reckon anew, for the case's new hours, what it holds; part of another operation's
    transaction.

    Freed: boxes out of date by its end, and trays that another case then has, or that cannot be
    ready again for it.
    """
    day = case.site.local(case.end).date()
    boxes = UnitReservation.objects.filter(case=case, freed_at=None)
    held = TrayReservation.objects.filter(case=case, freed_at=None).order_by("tray_id")
    # In the house's order: trays, then boxes.
    clock = Clock(site_values(case.site, now))
    for reservation in held.select_related("tray"):
        tray = locked_tray(reservation.tray)
        begins, ends = busy(clock, case.start, case.minutes, tray.configuration.shortest_turnaround)
        if _in_the_way(case, tray, begins, ends) is not None:
            reservation.freed_at = now
        else:
            reservation.busy_from, reservation.busy_until = begins, ends
        reservation.save(update_fields=["freed_at", "busy_from", "busy_until"])
    boxes.filter(unit__expiry__lt=day).update(freed_at=now)
    boxes.update(used_on=day)


def free_all(*, case: Case, now: datetime) -> None:
    """Free whatever the case holds; part of another operation's transaction.  Two queries."""
    UnitReservation.objects.filter(case=case, freed_at=None).update(freed_at=now)
    TrayReservation.objects.filter(case=case, freed_at=None).update(freed_at=now)
