from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from deploy.kit.models import Person
from scheduling.demonstration.people import THEATRE
from scheduling.demonstration.waste import make_demo_waste


class Command(BaseCommand):
    help = "Make the demonstration's dropped box.  Once, after its sizes."

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("Only for a demonstration.  Set MUSTER_DEMO=1 if this is one.")
        by = Person.objects.filter(user__groups__name=THEATRE).select_related("site").first()
        if by is None:
            raise CommandError("Make the demonstration's people first (make_demo_people).")
        unit = make_demo_waste(site=by.site, by=by)
        self.stdout.write(f"{unit.code}: {unit.state} in case {unit.case_ref}")
