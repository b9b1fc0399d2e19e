from __future__ import annotations

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from scheduling.coverage.engine import decide
from scheduling.coverage.report_json import report_to_json
from scheduling.coverage_table import coverage_table
from scheduling.management.scenario_text import refusing, scenario_in, site_called
from scheduling.queries import Coverage, coverage_now


class Command(BaseCommand):
    help = (
        "Say which booked cases are covered, and why the others are not: of the database, now, "
        "or of a scenario file, without touching any database."
    )
    # A scenario file is decided where no database is configured, let alone migrated.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--scenario", metavar="FILE", help="a scenario file; - reads the input")
        parser.add_argument("--json", action="store_true", help="the report as JSON")
        parser.add_argument("--site", metavar="CODE", help="the site, where there are several")

    def handle(self, *args: Any, **options: Any) -> None:
        with refusing(self.stderr):
            if options["scenario"] is not None:
                scenario = scenario_in(options["scenario"])
                coverage = Coverage(scenario, decide(scenario))
            else:
                coverage = coverage_now(site_called(options["site"]))
        if options["json"]:
            report = report_to_json(coverage.report, coverage.scenario)
            self.stdout.write(json.dumps(report, ensure_ascii=False, indent=1))
        else:
            self.stdout.write(coverage_table(coverage.scenario, coverage.report))
