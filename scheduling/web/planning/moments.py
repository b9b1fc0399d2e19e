"""A day and a time on the wall as a moment."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from deploy.kit.models import Site


class NoSuchTime(ValueError):
    """The clocks were put forward over it."""


def moment_of(site: Site, day: date, clock: time) -> datetime:
    """The moment at which the site's clocks show it, in UTC.

    A time that occurs twice, when the clocks go back, is its first occurrence, as in the cover
    check.  NoSuchTime for one that the clocks skip.
    """
    local = datetime.combine(day, clock.replace(second=0, microsecond=0, fold=0), site.zone)
    moment = local.astimezone(UTC)
    if site.local(moment).replace(tzinfo=None) != local.replace(tzinfo=None):
        raise NoSuchTime(f"the clocks skip {clock:%H:%M} on {day:%d %b %Y}")
    return moment
