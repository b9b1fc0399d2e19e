"""Called in at night: when a tray would be through if somebody were rung.  On values.

No verdict counts on it.  Which nights somebody can be called in on, the house says by date; the
clock knows hours by weekday, so that only the nights of the week ahead are looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from deploy.kit.models import Site
from scheduling.coverage import values
from scheduling.coverage.clock import NEVER, Clock, minute, moment
from scheduling.models import OnCallNight

AHEAD = timedelta(days=6)
FROM, UNTIL = 20 * 60, 8 * 60
"""Where the department is closed on a day itself, its night is from 20:00, or until 08:00."""


@dataclass(frozen=True, slots=True)
class Night:
    """The night that begins on the day, and whom to ring."""

    day: date
    contact: str


@dataclass(frozen=True, slots=True)
class CalledIn:
    """What ringing would do: through at `through` (local)."""

    night: Night
    through: datetime


def nights_ahead(site: Site, now: datetime) -> list[Night]:
    """From tonight on, the one that is still going on too.  One query."""
    today = site.local(now).date()
    rows = OnCallNight.objects.filter(
        site=site, day__gte=today - timedelta(days=1), day__lt=today + AHEAD
    )
    return [Night(one.day, one.contact) for one in rows]


def open_at_night(here: values.Site, night: Night) -> values.Site:
    """The house with the department open through that night."""
    opening = dict(here.opening)
    evening, morning = night.day, night.day + timedelta(days=1)
    closed = here.closed_dates - {evening, morning}
    # On a closed day the hours of its weekday do not hold: there is the night alone.
    first = None if evening in here.closed_dates else opening.get(evening.weekday())
    second = None if morning in here.closed_dates else opening.get(morning.weekday())
    opening[evening.weekday()] = (first[0] if first else FROM, 24 * 60)
    opening[morning.weekday()] = (0, second[1] if second else UNTIL)
    return replace(here, opening=opening, closed_dates=closed)


def called_in(
    here: values.Site, nights: Sequence[Night], minutes: int, needed_by: datetime
) -> CalledIn | None:
    """The first night on which being called in has `minutes` of work done by `needed_by`; None
    where none would."""
    for night in nights:
        clock = Clock(open_at_night(here, night))
        at = clock.after(clock.now, minutes)
        if at < NEVER and at <= minute(needed_by):
            return CalledIn(night, moment(at).astimezone(ZoneInfo(here.timezone)))
    return None
