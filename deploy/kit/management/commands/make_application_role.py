from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction

from deploy.kit.application_role import statements


class Command(BaseCommand):
    help = (
        "Make the role as which the server works on PostgreSQL, without the right to change or "
        "delete what was recorded, or to make or take away tables and rules; or bring it to what "
        "this version needs. Run it as the owner of the tables, after each migrate; give the role "
        "a password with psql's \\password."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("role", help="its name, such as muster_server")

    def handle(self, *, role: str, **options: Any) -> None:
        if connection.vendor != "postgresql":
            raise CommandError(
                "SQLite has no roles: whoever can write the file can write all of it. "
                "Use PostgreSQL where that matters."
            )
        if role == connection.settings_dict["USER"]:
            raise CommandError(f"{role} owns the tables; name another role for the server.")
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = %s)", [role])
            (is_there,) = cursor.fetchone()
            for statement in statements(role, is_new=not is_there, connection=connection):
                cursor.execute(statement)
        self.stdout.write(f"{role} may now work as the server. Its password: psql's \\password.")
