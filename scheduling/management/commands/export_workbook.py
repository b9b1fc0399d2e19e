"""Write what the house has, or an empty template, as a workbook."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from deploy.kit.imports.importing import export_workbook
from deploy.kit.models import Site
from deploy.kit.workbooks.template import template
from scheduling.workbooks.registry import BY_SLUG


class Command(BaseCommand):
    help = "Write what the house has as a workbook; with --template, an empty one to fill in."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("kind", choices=list(BY_SLUG))
        parser.add_argument("file", type=Path)
        parser.add_argument("--site", help="the site's code; needed where there are several")
        parser.add_argument("--template", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        kind = BY_SLUG[options["kind"]]
        if options["template"]:
            data = template(kind.spec)
        else:
            data = export_workbook(kind, _site(options["site"]))
        options["file"].write_bytes(data)
        self.stdout.write(str(options["file"]))


def _site(code: str | None) -> Site:
    sites = Site.objects.filter(**({"code": code} if code else {}))
    if len(found := list(sites[:2])) != 1:
        raise CommandError("Name one site with --site." if found else "There is no such site.")
    return found[0]
