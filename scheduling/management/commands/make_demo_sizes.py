from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from deploy.kit.models import Site
from scheduling.demonstration.sizes import make_demo_sizes


class Command(BaseCommand):
    help = "Make the demonstration's record of planned against used sizes.  Once, after its orders."

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("Only for a demonstration.  Set MUSTER_DEMO=1 if this is one.")
        number = make_demo_sizes(site=Site.objects.get())
        self.stdout.write(f"{number} cases on record.")
