"""From what a label, a tag or a load's number says to the cases that it touched."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.db.models import Q

from deploy.kit.models import Site
from implants.models import Unit, UnitMovement
from scheduling.models import Case, OutsideBox
from scheduling.pick_lists.reading import read
from scheduling.pick_lists.scan_values import BoxRead
from scheduling.tracing.found import Event, Trace, TracedCase
from trays.models import Pack, Tray, TrayMovement

MOST = 500
"""Boxes on one page: more than any lot of implants that a house holds."""


def trace(site: Site, text: str) -> Trace:
    """A LOT, a serial, a box's code, a scanned label, a tray's code or asset, or a load's number.

    Eighteen queries at most, however many boxes there are; each by an index.
    """
    wanted = text.replace("\0", "").strip()
    if not wanted:
        return Trace((), (), (), ())
    units = _units(site, wanted)
    packs = _packs_of_load(site, wanted)
    trays = _trays(site, wanted)
    outside = _outside(site, wanted)
    if not (units or packs or trays or outside):
        units, outside = _of_label(site, text)
    shown = units[:MOST]
    events = [*_box_events(site, shown), *_tray_events(site, trays, packs)]
    events += [outside_event(box, site) for box in outside]
    used = {event.of for event in events if event.case}
    return Trace(
        boxes=tuple(shown),
        trays=tuple(sorted({tray.code for tray in trays} | {pack.tray.code for pack in packs})),
        cases=_cases(site, events),
        unused=tuple(unit for unit in shown if f"box {unit.code}" not in used),
        more=len(units) > MOST,
        outside=tuple(str(box) for box in outside),
    )


def _units(site: Site, wanted: str) -> list[Unit]:
    """By LOT, by serial, by code: three queries, so that each goes by its own index.

    Labels are case sensitive, people at a keyboard are not: as typed, or in capitals.
    """
    said = sorted({wanted, wanted.upper()})
    of_site = Unit.objects.filter(site=site).select_related("implant").order_by("code")
    found: dict[int, Unit] = {}
    for key in ("lot__in", "serial__in", "code__in"):
        found |= {unit.pk: unit for unit in of_site.filter(**{key: said})[: MOST + 1]}
    return sorted(found.values(), key=lambda unit: unit.code)


def _outside(site: Site, wanted: str) -> list[OutsideBox]:
    """Boxes never received here, by LOT and by serial.  Two queries."""
    said = sorted({wanted, wanted.upper()})
    rows = OutsideBox.objects.filter(case__site=site, void=None)
    found: dict[int, OutsideBox] = {}
    for key in ("lot__in", "serial__in"):
        of_key = rows.filter(**{key: said}).select_related("case", "by", "second")
        found |= {box.pk: box for box in of_key[:MOST]}
    return list(found.values())


def _of_label(site: Site, text: str) -> tuple[list[Unit], list[OutsideBox]]:
    what, _ = read(text, site=site, today=site.local(site.now()).date())
    if not isinstance(what, BoxRead) or not (what.lot or what.serial):
        return [], []
    outside = _outside(site, what.serial or what.lot)
    if what.item is None:
        return [], outside
    units = Unit.objects.filter(site=site, implant__ref=what.item.ref).select_related("implant")
    same = Q(serial=what.serial) if what.serial else Q(lot=what.lot)
    of_item = [box for box in outside if box.ref == what.item.ref]
    return list(units.filter(same).order_by("code")[: MOST + 1]), of_item


def _trays(site: Site, wanted: str) -> list[Tray]:
    said = sorted({wanted, wanted.upper()})
    return list(Tray.objects.filter(Q(code__in=said) | Q(asset__in=said), site=site))


def _packs_of_load(site: Site, wanted: str) -> list[Pack]:
    """The packs of the steriliser load `MACHINE-NUMBER`."""
    machine, dash, number = wanted.rpartition("-")
    if not dash or not number.isdecimal() or len(number) > 9:
        return []
    packs = Pack.objects.filter(load__machine__site=site, load__number=int(number))
    return list(packs.filter(load__machine__code__iexact=machine).select_related("tray"))


def _box_events(site: Site, units: Iterable[Unit]) -> list[Event]:
    rows = (
        UnitMovement.objects.filter(unit__in=[unit.pk for unit in units])
        .exclude(case_ref="")
        .select_related("unit", "move", "by", "second")
        .order_by("at", "id")
    )
    return [event_of(row, f"box {row.unit.code}", row.move.kind, site) for row in rows]


def _tray_events(site: Site, trays: list[Tray], packs: list[Pack]) -> list[Event]:
    """Of a tray everything; of a load only what its packs went through until they were opened."""
    wanted = Q(tray__in=[tray.pk for tray in trays])
    for pack in packs:
        until = {} if pack.last_seq is None else {"seq__lt": pack.last_seq}
        wanted |= Q(tray=pack.tray_id, seq__gte=pack.first_seq, **until)
    rows = (
        TrayMovement.objects.filter(wanted)
        .exclude(case_ref="")
        .select_related("tray", "move", "by", "second")
        .order_by("at", "id")
    )
    return [event_of(row, f"tray {row.tray.code}", row.move.to_state, site) for row in rows]


def event_of(row: Any, of: str, what: str, site: Site) -> Event:
    """A movement, of either ledger, in words."""
    people = [one.get_full_name() or one.get_username() for one in (row.by, row.second) if one]
    by = " and ".join(people) or "a file"
    return Event(site.local(row.at), what, of, by, row.case_ref, row.reason)


def outside_event(box: OutsideBox, site: Site) -> Event:
    by = " and ".join(one.get_full_name() or one.get_username() for one in (box.by, box.second))
    what = f"{box.outcome}, never received here"
    return Event(site.local(box.at), what, str(box), by, box.case.ref, box.reason)


def _cases(site: Site, events: list[Event]) -> tuple[TracedCase, ...]:
    """The latest first, so that a recall begins with who was operated on last."""
    by_case: defaultdict[str, list[Event]] = defaultdict(list)
    for event in events:
        by_case[event.case].append(event)
    rows = Case.objects.filter(site=site, ref__in=by_case).select_related("theatre", "surgeon")
    cases = {case.ref: case for case in rows}
    traced = [TracedCase(ref, cases.get(ref), tuple(found)) for ref, found in by_case.items()]
    return tuple(sorted(traced, key=lambda each: (each.events[-1].at, each.ref), reverse=True))
