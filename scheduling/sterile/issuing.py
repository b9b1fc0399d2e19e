"""Whether a tray of the sterile store may go to a case, as it is scanned at the issue.

Theatre's own check would stop the same tray, but with the patient on the table.  Nobody is locked
out by this: theatre may take a tray past a STOP of its own, with a reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from scheduling.coverage.values import SUPPLEMENTARY
from scheduling.models import Case, PickLine, TrayReservation
from scheduling.pick_lists.words import day_and_clock
from scheduling.queries import coverage_now
from scheduling.theatre.asking import newest_list_of
from trays.models import Configuration, Tray

THEATRE_MAY = "If it is needed all the same, theatre takes it at its own check, with a reason."


@dataclass(frozen=True, slots=True)
class NotIssued:
    """Why not, in words, with both values and what to do."""

    title: str
    asked: str
    read: str
    what_to_do: str


def trays_of(case: Case) -> list[Tray]:
    """What the newest list of the case names, what it has reserved and what was issued to it.

    Two queries.
    """
    listed = PickLine.objects.filter(version=newest_list_of(case), case=case, tray__isnull=False)
    reserved = TrayReservation.objects.filter(case=case, freed_at__isnull=True)
    wanted = Q(pk__in=listed.values("tray")) | Q(pk__in=reserved.values("tray"))
    trays = Tray.objects.filter(wanted | Q(site=case.site_id, case_ref=case.ref))
    return list(trays.select_related("configuration").order_by("code"))


def why_not(*, tray: Tray, case: Case, now: datetime) -> NotIssued | None:
    """None where nothing speaks against it.  One query; where the case has not reserved the tray,
    the whole site is read and decided, to know what the case asks for."""
    if stop := _too_old(tray, case, now):
        return stop
    live = TrayReservation.objects.filter(tray=tray, freed_at__isnull=True).order_by("busy_from")
    refs = list(live.values_list("case__ref", flat=True))
    if case.ref in refs:
        return None
    if refs:
        return NotIssued(
            f"Tray {tray.code} is reserved for case {refs[0]}.",
            f"a tray for case {case.ref}",
            f"tray {tray.code}, reserved for case {refs[0]}",
            f"Take another of its kind. {THEATRE_MAY}",
        )
    return _not_asked_for(tray, case)


def _too_old(tray: Tray, case: Case, now: datetime) -> NotIssued | None:
    until = tray.sterile_until
    wanted = max(now, case.end)
    if until is None or until >= wanted:
        return None
    local = case.site.local
    return NotIssued(
        f"The sterile date of tray {tray.code} comes before case {case.ref} ends.",
        f"sterile until {day_and_clock(local(wanted))} or later",
        f"tray {tray.code}: sterile until {day_and_clock(local(until))}",
        "Take another, or sterilise it again: scan it at inspection and assembly.",
    )


def _not_asked_for(tray: Tray, case: Case) -> NotIssued | None:
    """A tray of a kind that no set of the case names; a pack of one instrument always may go."""
    kind = tray.configuration
    if kind.kind == SUPPLEMENTARY:
        return None
    sets = coverage_now(case.site).decision.sets_asked(case.ref)
    codes = list(dict.fromkeys(code for one in sets for option in one.options for code in option))
    if not codes or kind.code in codes:
        return None
    kinds = Configuration.objects.filter(site=case.site_id, code__in=codes)
    names = {one.code: str(one) for one in kinds}
    return NotIssued(
        f"Case {case.ref} asks for no {kind}.",
        "; ".join(names.get(code, code) for code in codes),
        f"tray {tray.code}, {kind}",
        THEATRE_MAY,
    )
