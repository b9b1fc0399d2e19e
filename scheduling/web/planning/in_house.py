"""In theatre, one question: what else of this line is in the house now, and promised to nobody?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from scheduling.access import case_for
from scheduling.coverage.report import Report
from scheduling.coverage.values import Implant, Scenario, Unit
from scheduling.queries import coverage_now
from scheduling.web.arrangement import promise_by_unit
from scheduling.web.case_page import matches_plan
from scheduling.web.requests import PersonsRequest
from scheduling.words import item_in_words


@dataclass(frozen=True, slots=True)
class BoxHere:
    """A box on the shelf now.  `counted_on`: the case whose cover rests on it; empty for none."""

    unit: str
    location: str
    expiry: date | None
    counted_on: str


@dataclass(frozen=True, slots=True)
class ItemHere:
    words: str
    ref: str
    planned: bool
    boxes: tuple[BoxHere, ...]

    @property
    def free(self) -> tuple[BoxHere, ...]:
        """On which no other case's cover rests."""
        return tuple(box for box in self.boxes if not box.counted_on)

    @property
    def counted(self) -> int:
        return len(self.boxes) - len(self.free)

    @property
    def counting(self) -> tuple[str, ...]:
        """The other cases whose cover rests on a box of this item."""
        return tuple(sorted({box.counted_on for box in self.boxes if box.counted_on}))


@dataclass(frozen=True, slots=True)
class LineHere:
    """`title`: `stem, line A`."""

    title: str
    items: tuple[ItemHere, ...]

    @property
    def number(self) -> int:
        return sum(len(item.free) for item in self.items)


@requires("scheduling.read_cases", "scheduling.read_own_cases")
@require_safe
def in_house(request: PersonsRequest, pk: int) -> HttpResponse:
    case = case_for(request.person, pk)
    coverage = coverage_now(case.site)
    known = case.ref in coverage.scenario.cases
    page = {
        "case": case,
        "lines": lines_here(coverage.scenario, coverage.report, case.ref) if known else (),
        "as_of": case.site.local(coverage.report.now),
    }
    response = render(request, "scheduling/planning/in_house.html", page)
    add_never_cache_headers(response)
    return response


def lines_here(scenario: Scenario, report: Report, ref: str) -> tuple[LineHere, ...]:
    """For every planned component, its line: boxes here, in date today, not on hold, reserved for
    nobody else.  Those that another case's cover counts on come last, and say so.  No query."""
    zone = ZoneInfo(scenario.site.timezone)
    today = scenario.site.now.astimezone(zone).date()
    taken = {
        unit for case in scenario.cases.values() if case.ref != ref for unit in case.reserved_units
    }
    counted = {unit: promise.case for unit, promise in promise_by_unit(report).items()}
    here: dict[str, list[Unit]] = defaultdict(list)
    for unit in scenario.shelf.values():
        in_date = unit.expiry is None or unit.expiry >= today
        if in_date and not unit.hold and unit.arrives is None and unit.code not in taken:
            here[unit.implant].append(unit)
    found = []
    parts = scenario.cases[ref].components.items()
    for role, part in sorted(parts, key=lambda named: "size" not in named[1].attributes):
        planned = {
            one.ref
            for one in scenario.implants.values()
            if one.role == role and matches_plan(one, part.attributes)
        }
        for title, line in _lines(scenario, role, planned):
            items = (
                _item(scenario, one, one.ref in planned, here[one.ref], counted, ref)
                for one in line
            )
            found.append(LineHere(title, tuple(item for item in items if item.boxes)))
    return tuple(found)


def _lines(scenario: Scenario, role: str, planned: set[str]) -> Iterator[tuple[str, list[Implant]]]:
    """The planned implant's like: of its line, or of its taper where it has no line."""
    of_role = [one for one in scenario.implants.values() if one.role == role]
    for ref in sorted(planned)[:1]:
        like = scenario.implants[ref].attributes
        for key, said in (("system", "line"), ("taper", "taper")):
            if key in like:
                same = [one for one in of_role if one.attributes.get(key) == like[key]]
                yield f"{role}, {said} {like[key]}", sorted(same, key=_order)
                return
        yield role, sorted(of_role, key=_order)


def _order(one: Implant) -> tuple[str, ...]:
    keys = ("size", "diameter", "inner_diameter", "neck_length", "length", "offset")
    return (*(f"{one.attributes.get(key, ''):>8}" for key in keys), one.ref)


def _item(
    scenario: Scenario,
    one: Implant,
    planned: bool,
    units: list[Unit],
    counted: dict[str, str],
    ref: str,
) -> ItemHere:
    boxes = [
        BoxHere(
            unit.code,
            unit.location,
            unit.expiry,
            "" if counted.get(unit.code) in (None, ref) else counted[unit.code],
        )
        for unit in units
    ]
    boxes.sort(key=lambda box: (box.counted_on != "", box.expiry or date.max, box.unit))
    return ItemHere(item_in_words(scenario, one.ref), one.ref, planned, tuple(boxes))
