"""Promise boxes and trays to a case, and take a promise back.

Each write is one transaction.  What is made scarcer is locked first and checked then; a unique
constraint stands behind the check.  Reserving what the case already holds changes nothing.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from deploy.kit.models import Person
from implants.models import Unit
from scheduling.errors import Refused
from scheduling.models import Case, HouseSettings, TrayReservation, UnitReservation
from scheduling.operations.locks import locked_open_case, locked_tray, locked_unit
from trays.models import Tray
from trays.stages import HELD_STAGES


@transaction.atomic
def reserve_unit(*, case: Case, unit: Unit, by: Person, now: datetime) -> UnitReservation:
    """Promise the box to the case.

    Refused: unit_elsewhere, unit_on_hold, unit_expired (use by is inclusive, against the local
    date of the case's end), unit_wrong_side, unit_promised (names the other case), case_is_over.
    """
    case = locked_open_case(case)
    unit = locked_unit(unit)
    held = UnitReservation.objects.select_related("case").filter(unit=unit, freed_at=None).first()
    if held is not None and held.case_id == case.pk:
        return held
    _check_unit(case, unit)
    if held is not None:
        raise Refused("unit_promised", unit=unit.code, other=held.case.ref)
    return UnitReservation.objects.create(case=case, unit=unit, at=now, by=by.user)


def _check_unit(case: Case, unit: Unit) -> None:
    if unit.site_id != case.site_id:
        raise Refused("unit_elsewhere", unit=unit.code)
    if unit.hold:
        raise Refused("unit_on_hold", unit=unit.code, hold=unit.hold)
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

    Refused: tray_elsewhere, tray_on_hold, tray_promised (another case has it in theatre in the
    same hours; whether the turnaround between two cases is long enough is for the cover check),
    case_is_over.
    """
    case = locked_open_case(case)
    tray = locked_tray(tray)
    live = list(TrayReservation.objects.select_related("case").filter(tray=tray, freed_at=None))
    for held in live:
        if held.case_id == case.pk:
            return held
    if tray.site_id != case.site_id:
        raise Refused("tray_elsewhere", tray=tray.code)
    if tray.stage in HELD_STAGES and tray.expected_at is None:
        raise Refused("tray_on_hold", tray=tray.code, stage=tray.stage)
    _check_hours(case, tray, [held.case for held in live])
    return TrayReservation.objects.create(case=case, tray=tray, at=now, by=by.user)


def _check_hours(case: Case, tray: Tray, others: list[Case]) -> None:
    before, after = _around(case)
    for other in sorted(others, key=lambda other: (other.start, other.ref)):
        if case.start - before < other.end + after and other.start - before < case.end + after:
            raise Refused(
                "tray_promised",
                tray=tray.code,
                other=other.ref,
                until=case.site.local(other.end + after),
            )


def _around(case: Case) -> tuple[timedelta, timedelta]:
    """How long before its start a case has its trays, and how long after its end."""
    house = HouseSettings.objects.filter(site=case.site_id).first() or HouseSettings()
    return (
        timedelta(minutes=house.needed_before_minutes),
        timedelta(minutes=house.out_of_theatre_minutes),
    )


@transaction.atomic
def free_tray(*, case: Case, tray: Tray, by: Person, now: datetime) -> None:
    """Take the promise back.  Refused (tray_not_reserved) where the case does not hold it."""
    live = TrayReservation.objects.filter(case=case, tray=tray, freed_at=None)
    if live.update(freed_at=now) != 1:
        raise Refused("tray_not_reserved", tray=tray.code, case=case.ref)


def free_what_cannot_be_kept(*, case: Case, now: datetime) -> None:
    """Free what the case cannot use at its new hours: boxes out of date by its end, and trays that
    another case then has in theatre.  Part of another operation's transaction.
    """
    day = case.site.local(case.end).date()
    UnitReservation.objects.filter(case=case, freed_at=None, unit__expiry__lt=day).update(
        freed_at=now
    )
    held = TrayReservation.objects.filter(case=case, freed_at=None).select_related("tray")
    for reservation in held.order_by("tray_id"):
        tray = locked_tray(reservation.tray)
        live = TrayReservation.objects.filter(tray=tray, freed_at=None).exclude(case=case)
        try:
            _check_hours(case, tray, [other.case for other in live.select_related("case")])
        except Refused:
            reservation.freed_at = now
            reservation.save(update_fields=["freed_at"])


def free_all(*, case: Case, now: datetime) -> None:
    """Free whatever the case holds; part of another operation's transaction.  Two queries."""
    UnitReservation.objects.filter(case=case, freed_at=None).update(freed_at=now)
    TrayReservation.objects.filter(case=case, freed_at=None).update(freed_at=now)
