from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from scheduling.management.scenario_text import refusing, scenario_in
from scheduling.scenario_files import Clock, load


class Command(BaseCommand):
    help = (
        "Load a scenario file into an empty database: everything or nothing.  The site's clock "
        "then stands at the scenario's now, unless an option says otherwise."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="a scenario file; - reads the input")
        parser.add_argument("--site", metavar="CODE", default="", help="the new site's short code")
        clock = parser.add_mutually_exclusive_group()
        clock.add_argument(
            "--run-clock",
            dest="clock",
            action="store_const",
            const=Clock.RUNS,
            default=Clock.STANDS,
            help="let the clock run on from the scenario's now",
        )
        clock.add_argument(
            "--real-clock",
            dest="clock",
            action="store_const",
            const=Clock.REAL,
            help="use the real clock",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        with refusing(self.stderr):
            scenario = scenario_in(options["file"])
            loaded = load(scenario, site_code=options["site"], clock=options["clock"])
        site = loaded.site
        for line in loaded.left_out:
            self.stderr.write(f"Reservation left out, it binds nobody: {line}")
        self.stdout.write(
            f"Loaded {site.name or site.code} ({site.code}): {len(scenario.cases)} cases, "
            f"{len(scenario.trays)} trays, {len(scenario.shelf)} boxes."
        )
