"""The washers and sterilisers of the demonstration.  Never on a real site."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from deploy.kit.models import Site
from trays.models import Machine, MachineKind

MACHINES = (
    ("W1", MachineKind.WASHER, 6, 70),
    ("W2", MachineKind.WASHER, 6, 70),
    ("S1", MachineKind.STERILISER, 8, 75),
    ("S2", MachineKind.STERILISER, 8, 75),
)


class Command(BaseCommand):
    help = "Give the demonstration's site its washers and sterilisers; those there stay."

    def handle(self, *args: Any, **options: Any) -> None:
        site = Site.objects.get()
        for code, kind, places, minutes in MACHINES:
            said = {"kind": kind, "places": places, "cycle_minutes": minutes}
            Machine.objects.get_or_create(site=site, code=code, defaults=said)
