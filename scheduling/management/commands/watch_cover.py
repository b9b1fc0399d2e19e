"""Watch the cover of every site: what it takes from confirmations, and what interrupts.

A confirmation lapses first: whoever is told that has the alert of the same cause on top of it,
not beside it.
"""

from __future__ import annotations

import os
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand

from deploy.kit.models import Site
from scheduling.operations.alerts import watch
from scheduling.operations.decisions import lapses_now


class Command(BaseCommand):
    help = (
        "Record confirmations that no longer hold and tell the surgeons; open alerts for lost "
        "cover, recalls and failed loads, and close what is gone."
    )

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
            for step in (note_lapses, note_alerts):
                try:
                    for said in step(site):
                        self.stdout.write(f"{site.code}: {said}")
                except Exception as error:
                    # One site must not keep the others from being watched.
                    self.stderr.write(f"{site.code}: not watched: {type(error).__name__}: {error}")


def note_lapses(site: Site) -> Iterator[str]:
    for lapse in lapses_now(site=site):
        yield f"{lapse.decision.case.ref}: confirmation lapsed: {' '.join(lapse.because)}"


def note_alerts(site: Site) -> Iterator[str]:
    seen = watch(site=site, now=site.now())
    for alert in seen.opened:
        yield f"opened: {alert.said}"
    for alert in seen.closed:
        yield f"gone: {alert.said}"


def lives(process: int | None) -> bool:
    """Whether the process is there, or none was named."""
    if process is None:
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True
