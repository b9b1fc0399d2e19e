from __future__ import annotations

from argparse import ArgumentParser
from itertools import chain
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from deploy.kit.ledger import ledgers
from deploy.kit.ledger_check import breaches
from deploy.kit.ledger_head import Head, altered, from_text, heads, to_text


class Command(BaseCommand):
    help = (
        "Replay every movement of boxes and trays and compare with what stands; check the rules "
        "that the database keeps. One line a breach; fails where there is one. With --against, "
        "whether what an earlier head was taken of still stands as it was."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--database", default="default", help="default: the default one")
        parser.add_argument(
            "--head",
            type=Path,
            metavar="FILE",
            help="write the head of what is recorded (a hash of all of it) to FILE; keep it where "
            "nobody of this machine can write",
        )
        parser.add_argument(
            "--against", type=Path, metavar="FILE", help="compare with the head kept in FILE"
        )

    def handle(
        self, *, database: str, head: Path | None, against: Path | None, **options: Any
    ) -> None:
        kept = read_head(against) if against else []
        found = 0
        for breach in chain(breaches(database), altered(kept, database)):
            self.stdout.write(breach)
            found += 1
        if found:
            raise CommandError(f"{found} breaches: the records are not whole")
        counted = ", ".join(
            f"{ledger.model(ledger.movement).objects.using(database).count()} movements of "
            f"{ledger.model(ledger.item).objects.using(database).count()} {ledger.item}s"
            for ledger in ledgers()
        )
        if head is not None:
            head.write_text(to_text(heads(database)))
        self.stdout.write(f"whole: {counted}")


def read_head(path: Path) -> list[Head]:
    try:
        return from_text(path.read_text())
    except (OSError, ValueError) as fault:
        raise CommandError(f"{path} is not a head that can be read: {fault}") from None
