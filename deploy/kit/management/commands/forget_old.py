from __future__ import annotations

from typing import Any

from django.core.management import BaseCommand, call_command
from django.utils import timezone

from deploy.kit.requests_once import KEPT, forget_answers


class Command(BaseCommand):
    help = (
        "Let go of sessions that are over, and of answers kept for repeated requests longer than "
        f"{KEPT.days} days; run it nightly. Nothing that was recorded goes."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("clearsessions")
        self.stdout.write(f"{forget_answers(now=timezone.now())} old answers are gone.")
