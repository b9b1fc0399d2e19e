"""How a pick list says dates, moments, needs and verdicts.  One place for paper and screen."""

from __future__ import annotations

from datetime import date, datetime

from scheduling.coverage.values import Need
from scheduling.pick_lists.values import Absent, Kind, Line, Section

ASK_THE_CODE = "Before use scan this code: it says whether a newer version exists."


def day(moment: date) -> str:
    """`Tue 9 March 2027`"""
    return f"{moment:%a} {moment.day} {moment:%B %Y}"


def clock(moment: datetime) -> str:
    """`08:30`"""
    return f"{moment:%H:%M}"


def day_and_clock(moment: datetime) -> str:
    """`Tue 9 March 2027, 08:30`"""
    return f"{day(moment)}, {clock(moment)}"


def full_date(moment: date) -> str:
    """`31 Jul 2027`: the month in letters, since 07/06 is read two ways."""
    return f"{moment.day} {moment:%b %Y}"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def use_by(line: Line) -> tuple[str, str]:
    """(label, date in words) of a line: `use by`, `31 Jul 2027`."""
    if line.use_by is not None:
        label = "sterile until" if line.kind is Kind.TRAY else "use by"
        return label, full_date(line.use_by)
    if line.kind is Kind.TRAY:
        return "sterile", "by event"
    return "use by", "no date"


def identity(line: Line) -> str:
    """What tells this very box from its neighbours: `LOT A213  ·  SN 12  ·  box U017`.

    Empty for a tray, whose code is among its big words.
    """
    if line.kind is Kind.TRAY:
        return ""
    parts = [f"LOT {line.lot}" if line.lot else "LOT not recorded"]
    parts += [f"SN {line.serial}"] if line.serial else []
    return "  ·  ".join([*parts, f"box {line.code}"])


def heading(line: Line) -> str:
    """The small line over the big words: `Stem  ·  REF ST-12H-225  ·  PLANNED`"""
    number = f"REF {line.item}" if line.kind is Kind.BOX else f"configuration {line.item}"
    return "  ·  ".join([capital(line.role), number, need(line.need)])


def big_words(line: Line) -> str:
    """What must not be misread: size, offset and length of a box, the name of a tray."""
    if line.kind is Kind.TRAY:
        return f"{line.code}  {line.words}".strip()
    return line.words or capital(line.role)


def need(wanted: Need) -> str:
    return wanted.value.upper()


def absence(absent: Absent) -> str:
    """`2 SHORT`, `1 ON ORDER`"""
    return f"{absent.quantity} {absent.state.upper()}"


def theatre(code: str) -> str:
    """`Theatre 2`, whether the house calls it `2` or `Theatre 2`."""
    return code if code.casefold().startswith("theatre") else f"Theatre {code}"


def place_and_side(section: Section) -> str:
    """`Theatre 2  ·  LEFT side`"""
    parts = [theatre(section.theatre)] if section.theatre else []
    parts += [f"{section.side.upper()} side"] if section.side else ["side not stated"]
    return "  ·  ".join(parts)


def start(section: Section) -> str:
    """`Tue 9 March 2027, start 08:30`"""
    return f"{day(section.start)}, start {clock(section.start)}"


def needed_by(section: Section) -> str:
    same_day = section.needed_by.date() == section.start.date()
    return f"needed by {(clock if same_day else day_and_clock)(section.needed_by)}"
