"""What happened since a moment that the next shift has to know: failures, holds, shortages, …

Where the trays went meanwhile is `trays.queries.changes_since`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from django.db.models import F, Q

from deploy.kit.models import Site
from trays.models import CountLine, Hold, Load, LoadState, Machine
from trays.stages import HELD_STAGES


class Matter(StrEnum):
    """In the order in which they are told."""

    FAILED = "Failed or withdrawn"
    DOWN = "Out of use"
    HELD = "Held"
    SHORT = "Found missing"
    LIFTED = "Holds lifted"
    RELEASED = "Released"


@dataclass(frozen=True, slots=True)
class Happened:
    """`what`: the load, machine or tray; `said`: what there is to know.  One of the keys leads
    on, both are None for a machine."""

    matter: Matter
    at: datetime
    what: str
    said: str = ""
    by: str = ""
    tray_pk: int | None = None
    load_pk: int | None = None


def happened_since(site: Site, moment: datetime) -> list[Happened]:
    """By matter, then by time.  Four queries."""
    order = list(Matter)
    found = [*_loads(site, moment), *_machines(site, moment)]
    found += [*_holds(site, moment), *_shortages(site, moment)]
    return sorted(found, key=lambda one: (order.index(one.matter), one.at, one.what))


def _name(user: Any) -> str:
    return (user.get_full_name() or user.get_username()) if user else ""


def _loads(site: Site, moment: datetime) -> Iterator[Happened]:
    loads = Load.objects.filter(machine__site=site).select_related(
        "machine", "closed_by", "released_by", "withdrawn_by"
    )
    lately = Q(closed_at__gte=moment) | Q(released_at__gte=moment) | Q(withdrawn_at__gte=moment)
    for load in loads.filter(lately):
        what = f"Load {load}"
        if load.released_at is not None and load.released_at >= moment:
            by = _name(load.released_by)
            yield Happened(Matter.RELEASED, load.released_at, what, by=by, load_pk=load.pk)
        ended = load.withdrawn_at or load.closed_at
        if load.state in (LoadState.FAILED, LoadState.WITHDRAWN) and ended and ended >= moment:
            by = _name(load.withdrawn_by or load.closed_by)
            said = "; ".join(filter(None, [load.state, load.said]))
            yield Happened(Matter.FAILED, ended, what, said, by, load_pk=load.pk)


def _machines(site: Site, moment: datetime) -> Iterator[Happened]:
    for machine in Machine.objects.filter(site=site, down_since__gte=moment):
        assert machine.down_since is not None
        yield Happened(Matter.DOWN, machine.down_since, machine.code, machine.down_reason)


def _holds(site: Site, moment: datetime) -> Iterator[Happened]:
    holds = Hold.objects.filter(Q(at__gte=moment) | Q(lifted_at__gte=moment), tray__site=site)
    for hold in holds.select_related("tray", "by", "lifted_by"):
        tray, at = hold.tray, hold.lifted_at
        if hold.at >= moment:
            said = ": ".join(filter(None, [hold.kind, hold.note]))
            yield Happened(Matter.HELD, hold.at, tray.code, said, _name(hold.by), tray.pk)
        if at is not None and at >= moment and tray.stage not in HELD_STAGES:
            by = _name(hold.lifted_by)
            yield Happened(Matter.LIFTED, at, tray.code, hold.lifted_note, by, tray.pk)


def _shortages(site: Site, moment: datetime) -> Iterator[Happened]:
    """What the counts found missing, as the sheet has it by now."""
    lines = CountLine.objects.filter(
        count__tray__site=site, said_at__gte=moment, present__lt=F("expected")
    ).select_related("instrument", "count__tray", "said_by")
    for line in lines:
        assert line.said_at is not None
        tray = line.count.tray
        said = f"{line.missing} × {line.instrument.in_words()} ({line.instrument.ref})"
        said += f", {line.broken} broken" if line.broken else ""
        by = _name(line.said_by)
        yield Happened(Matter.SHORT, line.said_at, tray.code, said, by, tray.pk)
