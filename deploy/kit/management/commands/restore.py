from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser, call_command
from django.db import connection

from deploy.kit.backup import BackupFault, restore


class Command(BaseCommand):
    help = "Bring a copy that `back_up` wrote into an empty database, and verify its records."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            restore(connection, options["file"])
        except BackupFault as fault:
            raise CommandError(str(fault)) from None
        call_command("verify_ledger", stdout=self.stdout)
