"""When a case keeps a tray busy: a rule on values."""

from __future__ import annotations

from datetime import UTC, datetime

from scheduling.coverage.clock import NEVER, Clock, minute, moment

FOR_EVER = datetime(9999, 1, 1, tzinfo=UTC)
"""Until when a tray is busy that no opening hours ahead make ready again."""


def busy(clock: Clock, start: datetime, minutes: int, turnaround: int) -> tuple[datetime, datetime]:
    """From when a case needs a tray to when the tray can serve again.

    `turnaround`: the shortest that its configuration has, in opening minutes, with both ways where
    sterile services is elsewhere.  Whether the
    standard one is in time is for the cover check, which calls a use that needs the fast track
    conditional.  Two uses that touch are apart.
    """
    begins = minute(start)
    out = begins + minutes + clock.site.out_of_theatre_minutes
    again = clock.after(out, turnaround)
    return (
        moment(begins - clock.site.needed_before_minutes),
        FOR_EVER if again >= NEVER else moment(again),
    )
