from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError
from django.utils import timezone

from deploy.kit.outbox import send_outbox


class Command(BaseCommand):
    help = (
        "Send the messages that are due, and tell of each; run it every minute. Fails where one "
        "could not be sent: it is kept, and tried again later."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.EMAIL_HOST:
            raise CommandError("There is no mail server: set MUSTER_MAIL_HOST.")
        faults = 0
        for sending in send_outbox(now=timezone.now(), sender=settings.DEFAULT_FROM_EMAIL):
            faults += bool(sending.fault)
            self.stdout.write(f"{sending.message}: {sending.fault or 'sent'}")
        if faults:
            raise CommandError(f"{faults} could not be sent, and will be tried again.")
