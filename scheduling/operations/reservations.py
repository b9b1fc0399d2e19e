"""Promise boxes and trays to a case, and take a promise back.

Each write is one transaction.  What is made scarcer is locked first and checked then; the
database's own rules (constraints, and `scheduling.guards`) stand behind the check.  Reserving
what the case already holds changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.models import Unit
from implants.states import STOCK, UnitState
from scheduling.coverage.clock import Clock
from scheduling.errors import Refused
from scheduling.facts_of_site import site_values, transport_minutes
from scheduling.keeping import Use, kept
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
    if _is_on_hold(tray):
        raise Refused("tray_on_hold", tray=tray.code, stage=tray.stage)
    clock = Clock(site_values(case.site, now))
    turnaround = _turnaround(tray, transport_minutes(case.site))
    begins, ends = busy(clock, case.start, case.minutes, turnaround)
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


def _is_on_hold(tray: Tray) -> bool:
    """A loan that is still with its supplier and expected may be promised."""
    return tray.stage in HELD_STAGES and tray.expected_at is None


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


@dataclass(frozen=True, slots=True)
class Freed:
    """Promises that end because their case is moved: (case, code of the tray or box)."""

    trays: tuple[tuple[str, str], ...] = ()
    boxes: tuple[tuple[str, str], ...] = ()

    def in_words(self) -> tuple[str, ...]:
        """`tray BASE-B/1, reserved for case C1`"""
        return tuple(
            f"{what} {code}, reserved for case {case}"
            for what, codes in (("tray", self.trays), ("box", self.boxes))
            for case, code in codes
        )


@dataclass(frozen=True, slots=True)
class _Keeping:
    """What moved cases hold: which trays for new hours, and what has to go."""

    new_hours: tuple[tuple[TrayReservation, Use], ...]
    lost_trays: tuple[TrayReservation, ...]
    lost_boxes: tuple[UnitReservation, ...]

    def freed(self) -> Freed:
        return Freed(
            tuple(sorted((one.case.ref, one.tray.code) for one in self.lost_trays)),
            tuple(sorted((one.case.ref, one.unit.code) for one in self.lost_boxes)),
        )


def what_moves_free(cases: Sequence[Case], now: datetime) -> Freed:
    """What `keep_what_can_be_kept` would free.  `cases` carry their new hours, unsaved."""
    return _keeping(cases, now).freed()


def keep_what_can_be_kept(*, cases: Sequence[Case], by: Person, now: datetime) -> Freed:
    """Reckon anew, for the cases' new hours, what they hold; part of another operation's
    transaction, which has locked the cases.

    Freed: boxes out of date by the end, and trays that another case then has, that cannot be
    ready again for it, or that are on hold.  A tray that is kept for other hours is promised anew:
    all old promises end first, so that two cases may change places.
    """
    held = TrayReservation.objects.filter(case__in=cases, freed_at=None)
    # In the house's order: trays, then boxes.
    for tray in Tray.objects.filter(pk__in=held.values("tray")).order_by("pk"):
        locked_tray(tray)
    keeping = _keeping(cases, now)
    ended = [*keeping.lost_trays, *(old for old, _ in keeping.new_hours)]
    TrayReservation.objects.filter(pk__in=[one.pk for one in ended]).update(freed_at=now)
    for old, use in keeping.new_hours:
        TrayReservation.objects.create(
            case=old.case,
            tray=old.tray,
            at=now,
            by=by.user,
            busy_from=use.begins,
            busy_until=use.ends,
        )
    lost = [one.pk for one in keeping.lost_boxes]
    UnitReservation.objects.filter(pk__in=lost).update(freed_at=now)
    for case in cases:
        boxes = UnitReservation.objects.filter(case=case, freed_at=None)
        boxes.update(used_on=case.site.local(case.end).date())
    return keeping.freed()


def _keeping(cases: Sequence[Case], now: datetime) -> _Keeping:
    """8 queries, whatever is held."""
    by_pk = {case.pk: case for case in sorted(cases, key=lambda case: (case.start, case.ref))}
    order = list(by_pk)
    held = sorted(
        TrayReservation.objects.filter(case__in=by_pk, freed_at=None).select_related(
            "case", "tray__configuration"
        ),
        key=lambda one: (order.index(one.case_id), one.tray.code),
    )
    trays = {one.tray_id for one in held}
    standing = TrayReservation.objects.filter(tray__in=trays, freed_at=None)
    others = [
        Use(pk, tray, begins, ends)
        for pk, tray, begins, ends in standing.exclude(case__in=by_pk).values_list(
            "pk", "tray_id", "busy_from", "busy_until"
        )
    ]
    moved = []
    if held:
        site = cases[0].site
        clock, transport = Clock(site_values(site, now)), transport_minutes(site)
        moved = [_use(one, by_pk[one.case_id], clock, transport) for one in held]
    hours = {one.pk: (one.busy_from, one.busy_until) for one in held}
    # A tray that is on hold is promised to nobody anew; what stays as it is, stays.
    on_hold = {one.pk for one in held if _is_on_hold(one.tray)}
    moved = [
        use for use in moved if use.key not in on_hold or hours[use.key] == (use.begins, use.ends)
    ]
    keep = kept(moved, others)
    uses = {use.key: use for use in moved}
    changed = [
        (one, uses[one.pk])
        for one in held
        if one.pk in keep and hours[one.pk] != (uses[one.pk].begins, uses[one.pk].ends)
    ]
    boxes = UnitReservation.objects.filter(
        case__in=by_pk, freed_at=None, unit__expiry__isnull=False
    )
    return _Keeping(
        tuple(changed),
        tuple(one for one in held if one.pk not in keep),
        tuple(
            one
            for one in boxes.select_related("case", "unit")
            if one.unit.expiry is not None and one.unit.expiry < _last_day(by_pk[one.case_id])
        ),
    )


def _turnaround(tray: Tray, transport: int) -> int:
    """The shortest, there and back; opening minutes."""
    return tray.configuration.shortest_turnaround + 2 * transport


def _use(held: TrayReservation, case: Case, clock: Clock, transport: int) -> Use:
    turnaround = _turnaround(held.tray, transport)
    begins, ends = busy(clock, case.start, case.minutes, turnaround)
    return Use(held.pk, held.tray_id, begins, ends)


def _last_day(case: Case) -> date:
    return case.site.local(case.end).date()


def free_all(*, case: Case, now: datetime) -> None:
    """Free whatever the case holds; part of another operation's transaction.  Two queries."""
    UnitReservation.objects.filter(case=case, freed_at=None).update(freed_at=now)
    TrayReservation.objects.filter(case=case, freed_at=None).update(freed_at=now)
