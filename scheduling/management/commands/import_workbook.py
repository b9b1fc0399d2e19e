"""Look at a workbook, and write it with --write."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from deploy.kit.doors import may_enter
from deploy.kit.imports.importing import (
    Proposal,
    TwoPeopleNeeded,
    import_workbook,
    propose,
)
from deploy.kit.models import Person
from deploy.kit.workbooks.once import AlreadyImported
from scheduling.workbooks.findings import findings_of
from scheduling.workbooks.registry import BY_SLUG


class Command(BaseCommand):
    help = "Look at a workbook row by row; with --write, write all of it or nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("kind", choices=list(BY_SLUG))
        parser.add_argument("file", type=Path)
        parser.add_argument("--by", required=True, metavar="NAME", help="who sends it: log-in name")
        parser.add_argument("--write", action="store_true", help="write it, if no row is refused")
        parser.add_argument(
            "--gtins-compared",
            action="store_true",
            help="GTINs that stood as numbers were compared with the labels",
        )
        parser.add_argument(
            "--second", metavar="NAME", help="who stands by it too; more than 500 rows take two"
        )
        parser.add_argument("--refused", type=Path, help="where refused rows go, as a workbook")

    def handle(self, *args: Any, **options: Any) -> None:
        kind, person = BY_SLUG[options["kind"]], self._person(options["by"])
        if not may_enter(person.user, (kind.permission,)):
            raise CommandError(f"{options['by']} may not import this: it takes {kind.permission}.")
        now = person.site.now()
        proposal = propose(
            kind, _bytes(options["file"]), site=person.site, now=now, progress=self._progress
        )
        self.stderr.write("")
        self._say(proposal)
        if options["refused"] and not proposal.ok:
            options["refused"].write_bytes(proposal.refused_workbook())
        if not proposal.ok:
            raise CommandError("Nothing was written.")
        if not options["write"]:
            return
        if proposal.reading.restored and not options["gtins_compared"]:
            raise CommandError("Compare the GTINs with the labels, then add --gtins-compared.")
        try:
            second = self._person(options["second"]) if options["second"] else None
            proposal = proposal.as_read()
            done = import_workbook(proposal, by=person, now=now, second=second)
        except AlreadyImported as before:
            raise CommandError(f"Nothing was written: {before}.") from before
        except TwoPeopleNeeded as needed:
            raise CommandError(f"Nothing was written: {needed}. Name them: --second.") from needed
        if not done.ok:
            raise CommandError("The record has changed meanwhile. Nothing was written.")
        self.stdout.write(f"Written: {done.comparison.writes} rows.")

    def _person(self, name: str) -> Person:
        person = Person.objects.filter(user__username=name).select_related("site", "user").first()
        if person is None:
            raise CommandError(f"Nobody with a place of work has the log-in name {name}.")
        return person

    def _progress(self, read: int, rows: int) -> None:
        filled = 30 * read // max(rows, read)
        self.stderr.write(f"\r{'#' * filled:<30} {read} of {rows} rows", ending="")
        self.stderr.flush()

    def _say(self, proposal: Proposal) -> None:
        found = findings_of(proposal)
        for line in (*found["faults"], *found["notices"], *found["confirm"]):
            self.stdout.write(line)
        for group in found["groups"]:
            for row in group["rows"]:
                self.stdout.write(
                    f"{row['sheet']}, row {row['row']}: {group['outcome']}: {row['what']}"
                )
                for change in row["changes"]:
                    self.stdout.write(
                        f"    {change['column']}: {change['before'] or 'nothing'} → "
                        f"{change['after'] or 'nothing'}"
                    )
                for reason in row["reasons"]:
                    self.stdout.write(f"    {reason}")
        self.stdout.write(", ".join(f"{count} {name}" for name, count in found["counts"].items()))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(f"{path}: {error.strerror}") from error
