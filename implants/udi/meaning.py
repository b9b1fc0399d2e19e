"""From checked elements to what they say: dates, the rule of what goes together, cautions."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from implants.udi.associations import check_together, values_by_ai
from implants.udi.dates import CodeDate, read_date
from implants.udi.elements import (
    GIAI,
    GRAI,
    GTIN,
    LOT,
    MADE,
    QUANTITY,
    SERIAL,
    USE_BY,
    USE_BY_TIME,
    Element,
)
from implants.udi.faults import Caution, Fault, ScanError, ScanWarning
from implants.udi.scan_read import Kind, ScanRead

DATES = (MADE, "12", "13", "15", "16", USE_BY)

# What a lost separator leaves at the end of a lot or serial: a date with its identifier, and
# perhaps a lot or serial behind it.
SWALLOWED = re.compile(r"(?<=.)(?=((?:11|17)([0-9]{6})(?:(?:10|21).+)?$))")
WRITTEN_SEPARATOR = "<GS>"


def read_elements(
    kind: Kind, elements: Sequence[Element], *, today: date, caps_lock: bool = False
) -> ScanRead:
    """ScanError if a date does not exist, or if the elements do not go together."""
    values = values_by_ai(elements)
    check_together(values)
    dates = {ai: _date(ai, values[ai], today) for ai in DATES if ai in values}
    use_by = [dates[USE_BY].date] if USE_BY in dates else []
    if USE_BY_TIME in values:
        use_by.append(_moment(values[USE_BY_TIME], today))
    warnings = [
        ScanWarning(Caution.DAY_NOT_STATED, {"ai": ai, "date": read.date.isoformat()})
        for ai, read in dates.items()
        if not read.day_stated
    ]
    warnings += _lost_separators(values, today)
    warnings += _case(values, caps_lock)
    warnings += [
        ScanWarning(Caution.UNKNOWN_AI, {"ai": each.ai, "value": each.value})
        for each in elements
        if not each.known
    ]
    return ScanRead(
        kind=kind,
        gtin=values.get(GTIN, ""),
        lot=values.get(LOT, ""),
        serial=values.get(SERIAL, ""),
        expiry=min(use_by, default=None),
        made=dates[MADE].date if MADE in dates else None,
        giai=values.get(GIAI, ""),
        grai=values.get(GRAI, ""),
        quantity=int(values[QUANTITY]) if QUANTITY in values else None,
        ai=values,
        warnings=tuple(warnings),
    )


def _date(ai: str, value: str, today: date) -> CodeDate:
    try:
        return read_date(value, today=today)
    except ValueError as error:
        raise ScanError(Fault.DATE, ai=ai, value=value) from error


def _moment(value: str, today: date) -> date:
    """The day of a use-by moment YYMMDDHHMM; its day must be stated."""
    day = _date(USE_BY_TIME, value[:6], today)
    if not day.day_stated or int(value[6:8]) > 23 or int(value[8:]) > 59:
        raise ScanError(Fault.DATE, ai=USE_BY_TIME, value=value)
    return day.date


def _lost_separators(values: dict[str, str], today: date) -> list[ScanWarning]:
    found = []
    for ai in (LOT, SERIAL):
        value = values.get(ai, "")
        hidden = WRITTEN_SEPARATOR if WRITTEN_SEPARATOR in value else _swallowed(value, today)
        if hidden:
            found.append(
                ScanWarning(Caution.LOST_SEPARATOR, {"ai": ai, "value": value, "hidden": hidden})
            )
    return found


def _swallowed(value: str, today: date) -> str:
    for match in SWALLOWED.finditer(value):
        try:
            read_date(match[2], today=today)
        except ValueError:
            continue
        return match[1]
    return ""


def _case(values: dict[str, str], caps_lock: bool) -> list[ScanWarning]:
    if caps_lock:
        return [ScanWarning(Caution.CAPS_LOCK)]
    said = " ".join(values[ai] for ai in (LOT, SERIAL) if ai in values)
    # Labels print capitals: letters that are all small were more likely turned round than meant.
    return [ScanWarning(Caution.LOWER_CASE, {"value": said})] if said.islower() else []
