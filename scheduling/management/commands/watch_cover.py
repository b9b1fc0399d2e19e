"""Watch the cover of every site."""

from __future__ import annotations

import os
import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from deploy.kit.models import Site
from scheduling.operations.alerts import watch


class Command(BaseCommand):
    help = "Open alerts for lost cover, recalls and failed loads, and close what is gone."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--every", type=int, metavar="SECONDS", help="go on looking; left out: look once"
        )
        parser.add_argument(
            "--as-long-as", type=int, metavar="PROCESS", help="end when that process has ended"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        self.look()
        while options["every"] and lives(options["as_long_as"]):
            time.sleep(options["every"])
            self.look()

    def look(self) -> None:
        for site in Site.objects.order_by("pk"):
            try:
                seen = watch(site=site, now=site.now())
            except Exception as error:
                # One site must not keep the others from being watched.
                self.stderr.write(f"{site.code}: not watched: {type(error).__name__}: {error}")
                continue
            for alert in seen.opened:
                self.stdout.write(f"{site.code}: opened: {alert.said}")
            for alert in seen.closed:
                self.stdout.write(f"{site.code}: gone: {alert.said}")


def lives(process: int | None) -> bool:
    """Whether the process is there, or none was named."""
    if process is None:
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True
