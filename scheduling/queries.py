"""Reads that rest on the coverage of a whole site."""

from __future__ import annotations

from dataclasses import dataclass

from deploy.kit.models import Site
from scheduling.coverage.engine import Decision
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from scheduling.facts import scenario_now


@dataclass(frozen=True, slots=True)
class Coverage:
    """What was asked and what was answered, at `scenario.site.now`.

    The decision is kept so that what would be otherwise can be asked of it (`whatif`, `ways_out`).
    """

    decision: Decision

    @property
    def scenario(self) -> Scenario:
        return self.decision.scenario

    @property
    def report(self) -> Report:
        return self.decision.report


def coverage_now(site: Site, *, outages: bool = True) -> Coverage:
    """Every booked case of the site decided together, from what is recorded now.

    As many queries as `scenario_now` (21), and the engine's time; `outages` as there.  An error of
    the engine is raised, never caught: a verdict that could not be worked out must not look like
    one.
    """
    return Coverage(Decision(scenario_now(site, outages=outages)))
