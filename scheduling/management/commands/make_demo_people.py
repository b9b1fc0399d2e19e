from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from deploy.kit.models import Site
from scheduling.demonstration.people import DEMO_PASSWORD, DEMO_PIN, badge_of, make_demo_people


class Command(BaseCommand):
    help = "Make the demonstration's people: one a role, one for each surgeon.  May be repeated."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", help="code of the site; not needed where there is only one")

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError(
                "Only for a demonstration: these accounts have a known password. "
                "Set MUSTER_DEMO=1 if this is one."
            )
        sites = list(Site.objects.filter(**{"code": options["site"]} if options["site"] else {}))
        if len(sites) != 1:
            raise CommandError(f"{len(sites)} sites fit; name one with --site CODE.")
        self.stdout.write(f"{'user':<18} {'role':<20} {'password':<10} {'badge':<24} PIN")
        for username, role in make_demo_people(site=sites[0]):
            self.stdout.write(
                f"{username:<18} {role:<20} {DEMO_PASSWORD:<10} {badge_of(username):<24} {DEMO_PIN}"
            )
