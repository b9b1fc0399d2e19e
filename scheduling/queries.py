"""Reads that rest on the coverage of a whole site."""

from __future__ import annotations

from dataclasses import dataclass

from deploy.kit.models import Site
from scheduling.coverage.engine import decide
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from scheduling.facts import scenario_now


@dataclass(frozen=True, slots=True)
class Coverage:
    """What was asked and what was answered, at `scenario.site.now`."""

    scenario: Scenario
    report: Report


def coverage_now(site: Site) -> Coverage:
    """Every booked case of the site decided together, from what is recorded now.

    As many queries as `scenario_now` (21), and the engine's time.  An error of the engine is
    raised, never caught: a verdict that could not be worked out must not look like one.
    """
    scenario = scenario_now(site)
    return Coverage(scenario, decide(scenario))
