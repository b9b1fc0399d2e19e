from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from deploy.kit.models import Site
from scheduling.operations.decisions import lapses_now


class Command(BaseCommand):
    help = "Record confirmations that no longer hold, and tell the surgeons.  For every minute."

    def handle(self, *args: Any, **options: Any) -> None:
        for site in Site.objects.all():
            for lapse in lapses_now(site=site):
                because = " ".join(lapse.because)
                self.stdout.write(f"{lapse.decision.case.ref}: {because}")
