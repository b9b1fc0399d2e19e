from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from deploy.kit.models import Person
from implants.demo_bench import make_demo_bench


class Command(BaseCommand):
    help = "Give the demonstration a morning at the shelf: receipts, a count, a recall.  Once."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--by", default="coordinator", help="the account that did it")

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("Only for a demonstration. Set MUSTER_DEMO=1 if this is one.")
        person = Person.objects.filter(user__username=options["by"]).select_related("site").first()
        if person is None:
            raise CommandError(f"There is no account {options['by']}: make_demo_people first.")
        for line in make_demo_bench(site=person.site, by=person):
            self.stdout.write(line)
