from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from deploy.kit.first_run import NotAnAdministrator, make_administrator
from deploy.kit.models import Site


class Command(BaseCommand):
    help = (
        "Make an administrator (or let one choose a new password) and print a one-time code, good "
        "for 24 hours.  A hospital needs two: changing roles takes two people."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username", nargs="?", default="administrator")
        parser.add_argument("--site", help="code of the site where the administrator works")

    def handle(self, *args: Any, **options: Any) -> None:
        username = options["username"]
        try:
            site = _site(options["site"])
            code = make_administrator(username=username, site=site, now=timezone.now())
        except NotAnAdministrator:
            raise CommandError(f"{username} has another role; choose another name.") from None
        except ValidationError as fault:
            raise CommandError("; ".join(fault.messages)) from None
        self.stdout.write(
            f"{username}: open /first-run/ within 24 hours and choose a password with this code, "
            f"which works once:\n\n    {code}\n"
        )


def _site(code: str | None) -> Site | None:
    """The site named, or the only one; None where none is named and there is not exactly one."""
    sites = list(Site.objects.filter(**({"code": code} if code else {})))
    if code and not sites:
        raise CommandError(f"There is no site {code!r}.")
    return sites[0] if len(sites) == 1 else None
