"""Which instruments are elsewhere than in their own tray, and what went in and out of one."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from deploy.kit.models import Site
from trays.models import InstrumentEntry, Tray, Way

AWAY = (Way.BORROWED, Way.INFECTION, Way.REPAIR)


def away(site: Site) -> QuerySet[InstrumentEntry]:
    """What was lent, is in quarantine or in repair, and was not put back.  One query."""
    return _with_words(
        InstrumentEntry.objects.filter(
            way__in=AWAY, put_back_by__isnull=True, from_tray__site=site
        ).order_by("pk")
    )


def away_from_or_in(tray: Tray) -> QuerySet[InstrumentEntry]:
    """What the tray gave and has not back, and what it holds of another's.  One query."""
    return away(tray.site).filter(Q(from_tray=tray) | Q(to_tray=tray))


def entries_of(tray: Tray) -> QuerySet[InstrumentEntry]:
    """All that went in and out of the tray between counts, the latest first.  One query."""
    return _with_words(InstrumentEntry.objects.filter(Q(from_tray=tray) | Q(to_tray=tray)))


def _with_words(entries: QuerySet[InstrumentEntry]) -> QuerySet[InstrumentEntry]:
    return entries.select_related("instrument", "from_tray", "to_tray", "by")
