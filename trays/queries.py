"""Reads of trays that several pages share; each states its queries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, F, OuterRef, QuerySet, Subquery

from deploy.kit.models import Site
from trays.models import Handover, Load, LoadState, Pack, ReturnNote, Tray, TrayMovement
from trays.stages import Stage


def with_since(trays: QuerySet[Tray]) -> QuerySet[Tray]:
    """Each with `since`, when it came to its stage, and `why`, the reason given then."""
    # Of the movements that changed the stage, the last; others gave it new times only.
    came = (
        TrayMovement.objects.filter(tray=OuterRef("pk"), move__to_state=OuterRef("stage"))
        .exclude(move__from_state=F("move__to_state"))
        .order_by("-seq")
    )
    return trays.annotate(
        since=Subquery(came.values("at")[:1]), why=Subquery(came.values("reason")[:1])
    )


def trays_at(site: Site, stages: Iterable[Stage]) -> list[Tray]:
    """The site's trays in these stages, the longest there first, each with `from_theatre`, what
    theatre said last when it sent it back.  One query."""
    trays = Tray.objects.filter(site=site, stage__in=list(stages))
    packed = Pack.objects.filter(tray=OuterRef("tray"), first_seq__gt=OuterRef("seq"))
    said = ReturnNote.objects.filter(~Exists(packed), tray=OuterRef("pk")).order_by("-pk")
    found = with_since(trays).annotate(from_theatre=Subquery(said.values("note")[:1]))
    found = found.select_related("configuration", "site")
    return sorted(found, key=lambda tray: (_since(tray), tray.code))


def _since(tray: Tray) -> datetime:
    since: datetime = tray.since  # type: ignore[attr-defined]
    return since


_NO_GOOD = Pack.objects.filter(
    last_seq=None, load__state__in=(LoadState.FAILED, LoadState.WITHDRAWN)
)


def with_bad_load(trays: QuerySet[Tray]) -> QuerySet[Tray]:
    """Each with `has_bad_load`: the load that it was sterilised in failed or was withdrawn."""
    return trays.annotate(has_bad_load=Exists(_NO_GOOD.filter(tray=OuterRef("pk"))))


def bad_load_of(tray: Tray) -> Load | None:
    """The load that the tray was sterilised in, where that failed or was withdrawn.  One query."""
    pack = _NO_GOOD.filter(tray=tray).select_related("load__machine").first()
    return pack.load if pack else None


def free_alike(tray: Tray) -> list[str]:
    """The codes of the other trays of the same configuration in the sterile store.  One query."""
    others = Tray.objects.filter(
        site=tray.site_id, configuration=tray.configuration_id, stage=Stage.STERILE_STORE
    ).exclude(pk=tray.pk)
    return list(others.values_list("code", flat=True))


@dataclass(frozen=True, slots=True)
class Change:
    """What became of one tray: from the stage at the beginning to the one it is in, and when."""

    tray: str
    pk: int
    before: str
    after: str
    at: datetime
    why: str
    case_ref: str


def last_handover(site: Site) -> Handover | None:
    """One query."""
    return Handover.objects.filter(site=site).select_related("by").first()


def changes_since(site: Site, moment: datetime) -> list[Change]:
    """The trays whose stage changed at or after the moment, the latest first.  One query."""
    movements = (
        TrayMovement.objects.filter(tray__site=site, at__gte=moment)
        .exclude(move__from_state__in=("", F("move__to_state")))
        .select_related("move", "tray")
        .order_by("tray", "seq")
    )
    changes: dict[int, Change] = {}
    for one in movements:
        earlier = changes.get(one.tray_id)
        changes[one.tray_id] = Change(
            tray=one.tray.code,
            pk=one.tray_id,
            before=earlier.before if earlier else one.move.from_state,
            after=one.move.to_state,
            at=one.at,
            why=one.reason or (earlier.why if earlier else ""),
            case_ref=one.case_ref,
        )
    return sorted(changes.values(), key=lambda one: (-one.at.timestamp(), one.tray))
