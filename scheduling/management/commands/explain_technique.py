from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from scheduling.models import Technique
from scheduling.techniques.catalogue import known_catalogue
from scheduling.techniques.explain import explain
from scheduling.techniques.stored import technique_of
from scheduling.techniques.validation import technique_faults


class Command(BaseCommand):
    help = "Print a technique in words, and what in it could not be explained (exit status 1)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("code")
        parser.add_argument("--site", help="code of the site; not needed where one has it")

    def handle(self, *args: Any, **options: Any) -> None:
        found = Technique.objects.filter(code=options["code"]).select_related("site")
        if options["site"]:
            found = found.filter(site__code=options["site"])
        if len(found) != 1:
            raise CommandError(
                f"{len(found)} techniques fit {options['code']!r}; "
                + ("name one site with --site CODE." if found else "see the list in the admin.")
            )
        technique = technique_of(found[0])
        self.stdout.write(explain(technique), ending="")
        if faults := technique_faults(technique, known_catalogue(found[0].site)):
            raise CommandError("Cannot be explained:\n" + "\n".join(faults))
