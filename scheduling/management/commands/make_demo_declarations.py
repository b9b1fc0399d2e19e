"""For the demonstration: the taper pairs that its invented makers declare."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from deploy.kit.models import Site
from implants.models import Implant
from scheduling.models import TaperPair

DOCUMENT = "Maker’s declaration of pairs, invented for the demonstration"


class Command(BaseCommand):
    help = "Declare, for the demonstration, that stem and head tapers of one name go together."

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("Only in the demonstration (MUSTER_DEMO=1): these are invented.")
        for site in Site.objects.all():
            stems, heads = (_tapers(site, role) for role in ("stem", "head"))
            for taper in sorted(stems & heads):
                TaperPair.objects.get_or_create(
                    site=site, stem_taper=taper, head_taper=taper, defaults={"document": DOCUMENT}
                )


def _tapers(site: Site, role: str) -> set[str]:
    rows = Implant.objects.filter(site=site, role=role).values_list("attributes", flat=True)
    return {str(row["taper"]) for row in rows if "taper" in row}
