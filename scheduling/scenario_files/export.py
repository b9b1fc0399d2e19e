from __future__ import annotations

from datetime import datetime

from deploy.kit.models import Site
from scheduling.coverage.scenario_json import write_scenario
from scheduling.facts import scenario_now


def export_scenario(site: Site, now: datetime | None = None) -> str:
    """The site's records as the text of a scenario file: loaded again, the same report.

    As many queries as `scenario_now`.  Not in a scenario, so not exported: people, pick lists,
    scans, earlier plans, cases that ended or were cancelled.
    """
    return write_scenario(scenario_now(site, now, outages=False))
