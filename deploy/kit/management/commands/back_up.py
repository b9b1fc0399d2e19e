from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser
from django.db import connection

from deploy.kit.backup import BackupFault, back_up


class Command(BaseCommand):
    help = "Write a whole copy of the database to a new file, while people work."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            back_up(connection, options["file"])
        except BackupFault as fault:
            raise CommandError(str(fault)) from None
        self.stdout.write(f"{options['file']}: {options['file'].stat().st_size:,} bytes")
