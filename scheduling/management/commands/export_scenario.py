from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from scheduling.management.scenario_text import refusing, site_called
from scheduling.scenario_files import export_scenario


class Command(BaseCommand):
    help = "Write the site's records as a scenario file on the standard output."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", metavar="CODE", help="the site, where there are several")

    def handle(self, *args: Any, **options: Any) -> None:
        with refusing(self.stderr):
            text = export_scenario(site_called(options["site"]))
        self.stdout.write(text, ending="")
