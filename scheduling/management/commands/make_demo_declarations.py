from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from deploy.kit.models import Site
from scheduling.demonstration.declarations import declare_tapers, keep_windows, name_makers


class Command(BaseCommand):
    help = "Make the demonstration's taper pairs, makers' addresses and surgeons' windows."

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("Only in the demonstration (MUSTER_DEMO=1): these are invented.")
        for site in Site.objects.all():
            declare_tapers(site)
            name_makers(site)
            keep_windows(site)
