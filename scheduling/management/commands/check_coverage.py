from __future__ import annotations

import json
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError, CommandParser

from scheduling.coverage.engine import Decision
from scheduling.coverage.report_json import report_to_json
from scheduling.coverage.values import Scenario
from scheduling.coverage.ways_out import ways_out
from scheduling.coverage.ways_out_json import difference_json
from scheduling.coverage.whatif import what_if
from scheduling.coverage_table import coverage_table
from scheduling.facts import scenario_now
from scheduling.management.own_output import output_kept_clean
from scheduling.management.scenario_text import NoSuchCase, refusing, scenario_in, site_called
from scheduling.what_if_table import difference_table, ways_out_table


class Command(BaseCommand):
    help = (
        "Say which booked cases are covered, and why the others are not: of the database, now, "
        "or of a scenario file, without touching any database.  With --ways-out, what can still be "
        "done for a case; with --against, what another scenario would change."
    )
    # A scenario file is decided where no database is configured, let alone migrated.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--scenario", metavar="FILE", help="a scenario file; - reads the input")
        parser.add_argument("--json", action="store_true", help="the report as JSON")
        parser.add_argument("--site", metavar="CODE", help="the site, where there are several")
        parser.add_argument(
            "--ways-out",
            metavar="CASE",
            action="append",
            default=[],
            help="what can still be done for this case; may be given several times",
        )
        parser.add_argument(
            "--against", metavar="FILE", help="what this scenario would change in the verdicts"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["against"] is not None and options["ways_out"]:
            raise CommandError("--against is not allowed with --ways-out")
        with refusing(self.stderr):
            scenario = self._scenario(options)
            after = scenario_in(options["against"]) if options["against"] is not None else None
            for ref in options["ways_out"]:
                if ref not in scenario.cases:
                    raise NoSuchCase(ref)
        with output_kept_clean():
            decision = Decision(scenario)
            if after is not None:
                said = _compared(decision, after, as_json=options["json"])
            else:
                said = _reported(decision, options["ways_out"], as_json=options["json"])
        self.stdout.write(said)

    def _scenario(self, options: dict[str, Any]) -> Scenario:
        if options["scenario"] is not None:
            return scenario_in(options["scenario"])
        return scenario_now(site_called(options["site"]))


def _reported(decision: Decision, refs: list[str], *, as_json: bool) -> str:
    scenario, report = decision.scenario, decision.report
    found = {ref: ways_out(decision, ref) for ref in refs}
    if as_json:
        return _json(report_to_json(report, scenario, found))
    tables = [ways_out_table(scenario, ways, report.case(ref)) for ref, ways in found.items()]
    return "\n\n".join((coverage_table(scenario, report), *tables))


def _compared(decision: Decision, after: Scenario, *, as_json: bool) -> str:
    difference = what_if(decision, after)
    if as_json:
        return _json(difference_json(difference, ZoneInfo(after.site.timezone)))
    return difference_table(decision.scenario, after, difference)


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1)
