from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser

from deploy.kit.models import Site


class Command(BaseCommand):
    help = "Make a hospital's site, still empty; workbooks fill it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("code", help="short code, in addresses: ottermere")
        parser.add_argument("name", help="the hospital's name")
        parser.add_argument("--timezone", required=True, help="as Europe/London")
        parser.add_argument("--address", help="that people use, and printed codes open")
        parser.add_argument("--asset-prefix", help="GS1 company prefix of the site's own assets")

    def handle(self, *args: Any, **options: Any) -> None:
        said = ("code", "name", "timezone", "address", "asset_prefix")
        site = Site(**{name: options[name] for name in said if options[name]})
        site.address = site.address.rstrip("/")
        try:
            site.full_clean()
        except ValidationError as fault:
            lines = (
                f"{name}: {message}"
                for name, messages in fault.message_dict.items()
                for message in messages
            )
            raise CommandError("\n".join(lines)) from None
        site.save()
        self.stdout.write(f"{site.name} ({site.code}) is there, and empty.")
        if not options["address"]:
            self.stdout.write(
                f"Printed codes, calendars and mails open {site.address}, which is this machine "
                "alone: say the address that people use under Sites, before anything is printed."
            )
