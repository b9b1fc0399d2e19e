from __future__ import annotations

from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from deploy.kit.models import Site
from scheduling.errors import Refused
from scheduling.models import Case, Theatre
from scheduling.operations.pick_lists import print_pick_list
from scheduling.pick_lists.paper import Paper
from scheduling.pick_lists.pdf import pick_list_pdf
from scheduling.pick_lists.versions import printing


class Command(BaseCommand):
    help = "Print the pick list of a case, or of a theatre's day, to a PDF file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--case", metavar="REF", help="the case")
        parser.add_argument("--theatre", metavar="CODE", help="the theatre, with --day")
        parser.add_argument("--day", metavar="YYYY-MM-DD", help="the local day, with --theatre")
        parser.add_argument("--site", metavar="CODE", help="needed where there are several")
        parser.add_argument("--paper", choices=[paper.value for paper in Paper], default="a4")
        parser.add_argument("--out", metavar="FILE", type=Path, required=True)

    def handle(self, *args: Any, **options: Any) -> None:
        site = _site(options["site"])
        try:
            version = print_pick_list(by=None, now=site.now(), **_what(site, options))
        except Refused as refused:
            raise CommandError(refused.say()) from None
        sheet = printing(version, printed_at=site.now())
        out: Path = options["out"]
        try:
            out.write_bytes(pick_list_pdf(sheet, Paper(options["paper"])))
        except OSError as error:
            raise CommandError(f"{out}: cannot be written: {error.strerror}") from None
        lines = sum(1 for _ in sheet.content.lines())
        absent = sum(len(section.absent) for section in sheet.content.sections)
        self.stdout.write(
            f"{out}: list {sheet.code} version {sheet.number}, {sheet.content.title}: "
            f"{lines} to fetch, {absent} not to hand"
        )


def _site(code: str | None) -> Site:
    sites = Site.objects.filter(code=code) if code else Site.objects.all()
    found = list(sites[:2])
    if not found:
        raise CommandError(f"--site: no site {code!r}" if code else "the database has no site yet")
    if len(found) > 1:
        raise CommandError("--site: there are several sites, name one")
    return found[0]


def _what(site: Site, options: dict[str, Any]) -> dict[str, Any]:
    ref, theatre_code, day_text = options["case"], options["theatre"], options["day"]
    if bool(ref) == bool(theatre_code or day_text) or bool(theatre_code) != bool(day_text):
        raise CommandError("give --case REF, or --theatre CODE and --day YYYY-MM-DD")
    if ref:
        case = Case.objects.filter(site=site, ref=ref).select_related("site").first()
        if case is None:
            raise CommandError(f"--case: no case {ref!r}")
        return {"case": case}
    theatre = Theatre.objects.filter(site=site, code=theatre_code).select_related("site").first()
    if theatre is None:
        raise CommandError(f"--theatre: no theatre {theatre_code!r}")
    try:
        return {"theatre": theatre, "day": date.fromisoformat(day_text)}
    except ValueError:
        raise CommandError(f"--day: not a day: {day_text!r}") from None
