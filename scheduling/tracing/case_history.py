"""From a case to everything that happened for it: who, when, with which box, tray and list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Any

from deploy.kit.models import Site
from implants.models import UnitMovement
from scheduling.models import (
    Case,
    LabelCheck,
    Opening,
    OutsideBoxVoid,
    PickListVersion,
    PlanVersion,
    Scan,
    TrayTaken,
)
from scheduling.tracing.found import Event
from scheduling.tracing.trace import event_of, outside_event
from trays.models import Pack, TrayMovement


def case_history(case: Case) -> list[Event]:
    """In time order; of one moment, what led to the other first.  Eleven queries, however much
    happened."""
    found = [
        *_box_movements(case),
        *_tray_movements(case),
        *_lists(case),
        *_scans(case),
        *_checks(case),
        *_openings(case),
        *_outside(case),
        *_plans(case),
    ]
    return sorted(found, key=lambda event: (event.at, event.of, _turn(event)))


def _turn(event: Event) -> int:
    """A label is read, then the box is picked, then opened, and then comes what came of it."""
    if event.what.startswith(("label read", "scanned")):
        return 0
    return {"pick": 1, "opened": 2}.get(event.what, 3)


def _box_movements(case: Case) -> Iterator[Event]:
    site = case.site
    touched = UnitMovement.objects.filter(unit__site=site, case_ref=case.ref).values("unit")
    rows = UnitMovement.objects.filter(unit__in=touched).select_related(
        "unit", "move", "by", "second"
    )
    for row in _of_case(rows.order_by("unit", "seq"), "unit_id", case):
        yield event_of(row, f"box {row.unit.code}", row.move.kind, site)


def _tray_movements(case: Case) -> Iterator[Event]:
    """With the pack and the load of what came into theatre.  Two queries."""
    site = case.site
    touched = TrayMovement.objects.filter(tray__site=site, case_ref=case.ref).values("tray")
    rows = TrayMovement.objects.filter(tray__in=touched).select_related(
        "tray", "move", "by", "second"
    )
    kept = _of_case(rows.order_by("tray", "seq"), "tray_id", case)
    packs = list(
        Pack.objects.filter(tray__in={row.tray_id for row in kept}).select_related("load__machine")
    )
    for row in kept:
        yield event_of(row, f"tray {row.tray.code}{_sterilised(row, packs)}", _to(row), site)


def _to(row: TrayMovement) -> str:
    return str(row.move.to_state)


def _sterilised(row: TrayMovement, packs: list[Pack]) -> str:
    for pack in packs:
        if pack.tray_id == row.tray_id and pack.first_seq <= row.seq:
            if pack.last_seq is not None and row.seq >= pack.last_seq:
                continue
            load = f", load {pack.load}" if pack.load else ""
            return f", pack {pack.number}{load}"
    return ""


def _of_case(rows: Iterable[Any], key: str, case: Case) -> list[Any]:
    """The entries of the case, and the one that took the item away from it again."""
    entries = list(rows)
    kept = {row.pk for row in entries if row.case_ref == case.ref}
    for before, after in pairwise(entries):
        same = getattr(before, key) == getattr(after, key)
        if same and before.case_ref == case.ref and not after.case_ref:
            kept.add(after.pk)
    return [row for row in entries if row.pk in kept]


def _lists(case: Case) -> Iterator[Event]:
    printed = PickListVersion.objects.filter(lines__case=case).distinct()
    for version in printed.select_related("pick_list", "printed_by").order_by("pk"):
        what = "list printed and reserved" if version.reserved else "list printed"
        of = f"list {version.pick_list.code}, version {version.number}"
        yield Event(_at(case, version.printed_at), what, of, _who(version.printed_by))


def _scans(case: Case) -> Iterator[Event]:
    rows = Scan.objects.filter(line__case=case).select_related("line__unit", "line__tray", "by")
    for row in rows:
        of = _item(row.line.unit, row.line.tray) if row.line else "nothing of this site"
        yield Event(_at(case, row.at), f"scanned: {row.answer}", of, _who(row.by), "", _why(row))


def _checks(case: Case) -> Iterator[Event]:
    rows = LabelCheck.objects.filter(case=case).select_related("unit", "tray", "by")
    for row in rows:
        of = _item(row.unit, row.tray)
        what = f"label read in theatre: {row.answer}"
        yield Event(_at(case, row.at), what, of, _who(row.by), "", _why(row))


def _openings(case: Case) -> Iterator[Event]:
    for row in Opening.objects.filter(case=case).select_related("unit", "by", "second"):
        of = f"box {row.unit.code}"
        yield Event(_at(case, row.at), "opened", of, _both(row), "", row.override)


def _outside(case: Case) -> Iterator[Event]:
    """Trays used after a STOP, boxes never received, and which of these were errors."""
    for tray in TrayTaken.objects.filter(case=case).select_related("tray", "by", "second"):
        of = f"tray {tray.tray.code}"
        yield Event(_at(case, tray.at), "used after a STOP", of, _both(tray), "", tray.override)
    for box in case.outside_boxes.select_related("case", "by", "second"):
        yield outside_event(box, case.site)
    voids = OutsideBoxVoid.objects.filter(box__case=case).select_related("box", "by", "second")
    for void in voids:
        what = "taken off the record"
        yield Event(_at(case, void.at), what, str(void.box), _both(void), "", void.reason)


def _plans(case: Case) -> Iterator[Event]:
    for row in PlanVersion.objects.filter(case=case).select_related("technique", "made_by"):
        of = f"plan {row.number}, {row.technique}"
        yield Event(_at(case, row.made_at), "planned", of, _who(row.made_by))


def _at(case: Case, moment: Any) -> Any:
    site: Site = case.site
    return site.local(moment)


def _item(unit: Any, tray: Any) -> str:
    if unit is not None:
        return f"box {unit.code}"
    return f"tray {tray.code}" if tray is not None else "nothing of this site"


def _who(user: Any) -> str:
    return (user.get_full_name() or user.get_username()) if user else "a file"


def _both(row: Any) -> str:
    return _who(row.by) + (f" and {_who(row.second)}" if row.second else "")


def _why(row: Scan | LabelCheck) -> str:
    code = row.reason.get("code", "")
    return "" if code in ("matches", "already scanned") else str(code)
