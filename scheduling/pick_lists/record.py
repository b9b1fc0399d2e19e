"""A list's content as it is kept with each printed version, and back again.

The record is what makes an old paper explainable: it holds the words that were printed, not the
rows they came from.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.coverage.report import Verdict
from scheduling.coverage.values import Need
from scheduling.pick_lists.values import Absent, Content, Kind, Line, Section


def to_record(content: Content) -> dict[str, Any]:
    """JSON: texts, numbers, lists and mappings; moments in UTC, so that equal is equal."""
    return {
        "title": content.title,
        "is_day": content.is_day,
        "sections": [_section_to(section) for section in content.sections],
    }


def from_record(record: dict[str, Any], zone: ZoneInfo) -> Content:
    """The content again, its moments in the site's zone."""
    return Content(
        title=record["title"],
        is_day=record["is_day"],
        sections=tuple(_section_from(section, zone) for section in record["sections"]),
    )


def _section_to(section: Section) -> dict[str, Any]:
    return {
        "case": section.case,
        "theatre": section.theatre,
        "side": section.side,
        "start": section.start.astimezone(ZoneInfo("UTC")).isoformat(),
        "needed_by": section.needed_by.astimezone(ZoneInfo("UTC")).isoformat(),
        "verdict": section.verdict.value,
        "trays": [_line_to(line) for line in section.trays],
        "boxes": [_line_to(line) for line in section.boxes],
        "absent": [_absent_to(absent) for absent in section.absent],
        "unsettled": list(section.unsettled),
        "counted_on": dict(sorted(section.counted_on.items())),
    }


def _section_from(record: dict[str, Any], zone: ZoneInfo) -> Section:
    return Section(
        case=record["case"],
        theatre=record["theatre"],
        side=record["side"],
        start=datetime.fromisoformat(record["start"]).astimezone(zone),
        needed_by=datetime.fromisoformat(record["needed_by"]).astimezone(zone),
        verdict=Verdict(record["verdict"]),
        trays=tuple(_line_from(line) for line in record["trays"]),
        boxes=tuple(_line_from(line) for line in record["boxes"]),
        absent=tuple(_absent_from(absent) for absent in record["absent"]),
        unsettled=tuple(record["unsettled"]),
        counted_on=record["counted_on"],
    )


def _line_to(line: Line) -> dict[str, Any]:
    return {
        "kind": line.kind.value,
        "code": line.code,
        "need": line.need.value,
        "role": line.role,
        "item": line.item,
        "words": line.words,
        "location": line.location,
        "link": line.link,
        "lot": line.lot,
        "serial": line.serial,
        "use_by": line.use_by.isoformat() if line.use_by else None,
        "note": line.note,
    }


def _line_from(record: dict[str, Any]) -> Line:
    use_by = record["use_by"]
    return Line(
        **{
            **record,
            "kind": Kind(record["kind"]),
            "need": Need(record["need"]),
            "use_by": date.fromisoformat(use_by) if use_by else None,
        }
    )


def _absent_to(absent: Absent) -> dict[str, Any]:
    return {
        "what": absent.what,
        "item": absent.item,
        "need": absent.need.value,
        "quantity": absent.quantity,
        "state": absent.state,
        "because": list(absent.because),
    }


def _absent_from(record: dict[str, Any]) -> Absent:
    return Absent(**{**record, "need": Need(record["need"]), "because": tuple(record["because"])})
