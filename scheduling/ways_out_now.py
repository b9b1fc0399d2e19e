"""What can still be done for a case, in the words that pages and the terminal share."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from scheduling.coverage.report import CaseReport
from scheduling.coverage.values import Scenario
from scheduling.coverage.ways_out import WaysOut, ways_out
from scheduling.coverage.ways_out_words import nothing_in_words, way_in_words
from scheduling.gaps import capital
from scheduling.queries import Coverage
from scheduling.words import NO_PLAN, item_in_words


@dataclass(frozen=True, slots=True)
class WaySaid:
    """`do` and `effects` are sentences."""

    do: str
    effects: str


@dataclass(frozen=True, slots=True)
class WaysSaid:
    """`free`: ways that cost no other case anything, the cheapest first; `costing`: the others.

    `partial`: the ways close a gap, but none makes the verdict better.  `nothing`: why there is no
    way; empty where there are some.  `stopped`: said where not everything was tried.
    """

    free: tuple[WaySaid, ...]
    costing: tuple[WaySaid, ...]
    partial: bool
    nothing: str
    stopped: str


def ways_out_of(coverage: Coverage, ref: str) -> WaysSaid:
    """The ways out of one case.  No query; a bounded number of decisions, none for a case that is
    covered.  KeyError where coverage has no such case."""
    found = ways_out(coverage.decision, ref)
    return ways_said(coverage.scenario, coverage.report.case(ref), found)


def ways_said(scenario: Scenario, report: CaseReport, found: WaysOut) -> WaysSaid:
    zone = ZoneInfo(scenario.site.timezone)

    def name(code: str) -> str:
        return name_in_words(scenario, code)

    said = [(way, way_in_words(way, zone, name)) for way in found.ways]
    free, costing = (
        tuple(
            WaySaid(capital(words.do), capital("; ".join(words.effects)))
            for _, words in said
            if words.costs_others is costs
        )
        for costs in (False, True)
    )
    return WaysSaid(
        free=free,
        costing=costing,
        partial=any(way.partial for way in found.ways),
        nothing="" if found.ways else _nothing(scenario, report),
        stopped=""
        if found.complete
        else f"Not everything was tried: the search stopped after {found.tries} tries.",
    )


def _nothing(scenario: Scenario, report: CaseReport) -> str:
    if scenario.cases[report.case].technique == NO_PLAN:
        return "Nothing before its plan is written."
    return capital(nothing_in_words(report))


def name_in_words(scenario: Scenario, code: str) -> str:
    """An item as the pages call it; a configuration by its name and code."""
    configuration = scenario.configurations.get(code)
    if configuration is not None:
        return f"{configuration.name} ({code})" if configuration.name else code
    return item_in_words(scenario, code)
