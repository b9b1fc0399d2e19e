"""The tray day line: a picture of one day, a tray a row, from 06:00 to 22:00.

In theatre, turnaround, needed-by marks, and the slack in minutes as text.  Pure geometry in
viewBox units; `_day_line.html` draws it.  Moments are local to the site.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Literal

FROM_HOUR, TO_HOUR = 6, 22
WIDTH, ROW = 960, 46
BAR_TOP, BAR_HEIGHT = 16, 22
NEAR_THE_EDGE = 260
"""Left of this, a mark's text stands after it: before it there is no room."""

HOUR_WIDTH = WIDTH / (TO_HOUR - FROM_HOUR)


@dataclass(frozen=True, slots=True)
class Stay:
    """A tray's stay with one case.

    `ready`: when it is ready for this case, None is never; `forecast`: it is not ready yet, so
    that the slack between `ready` and `needed_by` is of interest.
    `turned_round`: when it is ready again after it, at standard turnaround; None is never.
    """

    case: str
    theatre: str
    needed_by: datetime
    start: datetime
    out: datetime
    ready: datetime | None
    turned_round: datetime | None
    forecast: bool = True
    fast_track: bool = False

    @property
    def slack_minutes(self) -> int | None:
        if self.ready is None:
            return None
        return int((self.needed_by - self.ready).total_seconds() // 60)


@dataclass(frozen=True, slots=True)
class Bar:
    kind: Literal["theatre", "turnaround", "slack"]
    x: float
    width: float
    text: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A needed-by mark, with its time and the slack before it in words beside it."""

    x: float
    text: str
    anchor: Literal["start", "end"]


@dataclass(frozen=True, slots=True)
class Row:
    tray: str
    name: str
    bars: tuple[Bar, ...]
    marks: tuple[Mark, ...]
    words: str
    url: str = ""


@dataclass(frozen=True, slots=True)
class DayLine:
    hours: tuple[tuple[float, str], ...]
    rows: tuple[Row, ...]
    width: int = WIDTH
    row_height: int = ROW
    bar_top: int = BAR_TOP
    bar_height: int = BAR_HEIGHT


def position(day: date, moment: datetime) -> float:
    """Where a local moment stands on the day's line, 0 to WIDTH; outside is cut at the ends.

    By the clock on the wall: on a day when the clocks change the line still has sixteen hours.
    """
    wall = moment.replace(tzinfo=None)
    minutes = (wall - datetime.combine(day, time(FROM_HOUR))) / timedelta(minutes=1)
    return min(max(minutes / 60 * HOUR_WIDTH, 0.0), float(WIDTH))


def day_line(day: date, trays: Sequence[tuple[str, str, Sequence[Stay]]]) -> DayLine:
    """`trays`: (code, name, its stays in time order), drawn in the order given."""
    hours = tuple(
        ((hour - FROM_HOUR) * HOUR_WIDTH, f"{hour:02d}") for hour in range(FROM_HOUR, TO_HOUR + 1)
    )
    return DayLine(hours, tuple(row_of(day, code, name, stays) for code, name, stays in trays))


def row_of(day: date, code: str, name: str, stays: Sequence[Stay]) -> Row:
    bars: list[Bar] = []
    marks: list[Mark] = []
    words: list[str] = []
    for number, stay in enumerate(stays):
        following = stays[number + 1] if number + 1 < len(stays) else None
        left, right = position(day, stay.needed_by), position(day, stay.out)
        if stay.forecast and stay.ready is not None and position(day, stay.ready) < left:
            begin = position(day, stay.ready)
            bars.append(Bar("slack", begin, left - begin))
        if right > left:
            bars.append(Bar("theatre", left, right - left, stay.case))
        turned = stay.turned_round
        # A fast-tracked turnaround is drawn until the next case needs the tray, never over it.
        if turned is not None and following is not None and turned > following.needed_by:
            turned = following.needed_by
        end = position(day, turned) if turned is not None else float(WIDTH)
        if end > right:
            bars.append(Bar("turnaround", right, end - right))
        if stay.needed_by.date() == day:
            marks.append(mark_of(left, stay))
            words.append(stay_in_words(stay))
    return Row(code, name, tuple(bars), tuple(marks), "; ".join(words))


def mark_of(x: float, stay: Stay) -> Mark:
    """The text stands before the mark, in the empty time, unless the day's start is too near."""
    said = [f"{stay.needed_by:%H:%M}"]
    if slack := slack_in_words(stay):
        said.append(slack)
    if stay.fast_track:
        said.append("fast track")
    anchor: Literal["start", "end"] = "start" if x < NEAR_THE_EDGE else "end"
    return Mark(x, " · ".join(said if anchor == "start" else reversed(said)), anchor)


def slack_in_words(stay: Stay) -> str:
    """Only where the tray is not ready yet, and not for more than a day."""
    slack = stay.slack_minutes
    if not stay.forecast or slack is None or slack >= 24 * 60:
        return ""
    return f"slack {slack} min" if slack >= 0 else f"{-slack} min late"


def stay_in_words(stay: Stay) -> str:
    said = f"{stay.case} in {stay.theatre}" if stay.theatre else stay.case
    said += f": needed by {stay.needed_by:%H:%M}, out {stay.out:%H:%M}"
    if stay.ready is None:
        return f"{said}, never ready"
    return f"{said}, {slack_in_words(stay) or 'ready long before'}"
