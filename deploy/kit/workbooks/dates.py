"""Dates and times: real ones of the spreadsheet, or ISO text.  Never guessed."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from deploy.kit.workbooks.cells import Cell, check_no_error, check_number_format_shows
from deploy.kit.workbooks.faults import Unfit, quoted
from deploy.kit.workbooks.words import Code

ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
ISO_TIME = re.compile(r"\d\d:\d\d(:\d\d)?", re.ASCII)
ISO_MOMENT = re.compile(rf"{ISO_DATE.pattern}[T ]{ISO_TIME.pattern}", re.ASCII)

FIRST_DATE = date(1900, 3, 1)
"""Before it, spreadsheets count a 29 February 1900 that never was."""
DAY = timedelta(days=1)


def read_date(cell: Cell) -> date:
    check_no_error(cell)
    stood = cell.trimmed
    if isinstance(stood, str):
        if not ISO_DATE.fullmatch(stood):
            raise Unfit(Code.TEXT_DATE, value=quoted(stood))
        return within_calendar(real_date(stood))
    day = day_of(cell)
    if isinstance(stood, datetime) and stood.time() != time():
        raise Unfit(Code.DATE_WITH_TIME, value=stood.isoformat(" ", "seconds"))
    return day


def read_moment(cell: Cell) -> datetime:
    """Local date and time, to the second, without a zone."""
    check_no_error(cell)
    stood = cell.trimmed
    if isinstance(stood, str):
        if not ISO_MOMENT.fullmatch(stood):
            raise Unfit(Code.NOT_A_MOMENT, value=quoted(stood))
        within_calendar(real_date(stood[:10]))
        return datetime.combine(real_date(stood[:10]), real_time(stood[11:], cell))
    day_of(cell)
    if not isinstance(stood, datetime) or "h" not in cell.number_format.casefold():
        raise Unfit(Code.NOT_A_MOMENT, value=quoted(cell.shown))
    return to_second(stood)


def read_time(cell: Cell) -> time:
    """A time of day, to the second."""
    check_no_error(cell)
    stood = cell.trimmed
    if isinstance(stood, timedelta) and timedelta() <= stood < DAY:
        return to_second(datetime.combine(date.min, time()) + stood).time()
    if isinstance(stood, time):
        return to_second(datetime.combine(date.min, stood)).time()
    if isinstance(stood, str) and ISO_TIME.fullmatch(stood):
        return real_time(stood, cell)
    raise Unfit(Code.NOT_A_TIME, value=quoted(cell.shown))


def day_of(cell: Cell) -> date:
    """The day of a date that the spreadsheet holds as such and shows in full."""
    stood = cell.stood
    if isinstance(stood, time | timedelta):
        raise Unfit(Code.TIME_ONLY, value=cell.shown)
    if isinstance(stood, bool) or not isinstance(stood, int | float | date):
        raise Unfit(Code.TEXT_DATE, value=quoted(cell.shown))
    if not isinstance(stood, date):
        raise Unfit(Code.NUMBER_FOR_DATE, value=cell.shown)
    check_number_format_shows(cell, "dmy")
    return within_calendar(stood.date() if isinstance(stood, datetime) else stood)


def within_calendar(day: date) -> date:
    if day < FIRST_DATE:
        raise Unfit(Code.DATE_TOO_EARLY, value=day.isoformat())
    return day


def real_date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Unfit(Code.NO_SUCH_DATE, value=quoted(text)) from None


def real_time(text: str, cell: Cell) -> time:
    try:
        return time.fromisoformat(text)
    except ValueError:
        raise Unfit(Code.NOT_A_TIME, value=quoted(cell.shown)) from None


def to_second(moment: datetime) -> datetime:
    """Spreadsheets keep 08:30 as a fraction of a day, perhaps a millisecond short of it."""
    return (moment + timedelta(milliseconds=500)).replace(microsecond=0)
