"""Who is on which gap, since when, and what was said last."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from deploy.kit.models import Site
from scheduling.models import GapNote


@dataclass(frozen=True, slots=True)
class OnIt:
    """`since` is local.  `notes`: the newest first."""

    who: str
    since: datetime
    notes: tuple[str, ...]


def on_it(site: Site) -> dict[str, OnIt]:
    """REF → who is on its gap; items that nobody is on are left out.  One query."""
    found: dict[str, OnIt] = {}
    rows = GapNote.objects.filter(implant__site=site).select_related("implant", "by__user")
    for row in rows:
        ref = row.implant.ref
        if row.done:
            found.pop(ref, None)
            continue
        before = found.get(ref)
        found[ref] = OnIt(
            who=str(row.by),
            since=before.since if before else site.local(row.at),
            notes=(row.note, *(before.notes if before else ())),
        )
    return found
