from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from deploy.kit.ledger import ledgers
from deploy.kit.ledger_check import breaches


class Command(BaseCommand):
    help = (
        "Replay every movement of boxes and trays and compare with what stands; check the rules "
        "that the database keeps. One line a breach; fails where there is one."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--database", default="default", help="default: the default one")

    def handle(self, *, database: str, **options: Any) -> None:
        found = 0
        for breach in breaches(database):
            self.stdout.write(breach)
            found += 1
        if found:
            raise CommandError(f"{found} breaches: the records are not whole")
        counted = ", ".join(
            f"{ledger.model(ledger.movement).objects.using(database).count()} movements of "
            f"{ledger.model(ledger.item).objects.using(database).count()} {ledger.item}s"
            for ledger in ledgers()
        )
        self.stdout.write(f"whole: {counted}")
