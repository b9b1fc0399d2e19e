"""What is wrong with an installation, found when the server starts, and by
`manage.py check --deploy --database default`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core import checks
from django.db import connections
from django.db.migrations.executor import MigrationExecutor

from deploy.kit import application_role
from deploy.kit.models import Site


def site_clocks(databases: Sequence[str] | None = None, **kwargs: Any) -> list[checks.CheckMessage]:
    """A site whose clock was set would be told of yesterday's shelf: for demonstrations only.

    One query a database.
    """
    if settings.DEMO:
        return []
    return [
        checks.Error(
            f"The clock of {name} is set to {set_to:%Y-%m-%d %H:%M} UTC.",
            hint="Empty `clock_set_to` and `clock_started` of the site. If this is a "
            "demonstration, set MUSTER_DEMO=1.",
            id="kit.E001",
        )
        for database in databases or ()
        # Before the first migrate there is no site either.
        if Site._meta.db_table in connections[database].introspection.table_names()
        for name, set_to in Site.objects.using(database)
        .exclude(clock_set_to=None)
        .values_list("name", "clock_set_to")
    ]


def migrations_are_done(
    databases: Sequence[str] | None = None, **kwargs: Any
) -> list[checks.CheckMessage]:
    """A server whose tables are older than its code would fail at the first that is missing."""
    found: list[checks.CheckMessage] = []
    for database in databases or ():
        executor = MigrationExecutor(connections[database])
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
        if plan:
            first, _ = plan[0]
            found.append(
                checks.Error(
                    f"{len(plan)} migrations are not done yet, the first is {first}.",
                    hint="Run `manage.py migrate`.",
                    id="kit.E003",
                )
            )
    return found


def rights_of_the_server(
    databases: Sequence[str] | None = None, **kwargs: Any
) -> list[checks.CheckMessage]:
    """PostgreSQL: the server's role can do what the pages need, and had better do no more.

    Two queries a database.
    """
    found: list[checks.CheckMessage] = []
    for database in databases or ():
        connection = connections[database]
        if connection.vendor != "postgresql":
            continue
        role = connection.settings_dict["USER"]
        if missing := application_role.missing(connection):
            found.append(
                checks.Error(
                    f"{role} has no right to {missing[0]}, and {len(missing) - 1} more.",
                    hint=f"As the owner of the tables: `manage.py make_application_role {role}`.",
                    id="kit.E004",
                )
            )
        if excess := application_role.excess(connection):
            found.append(
                checks.Warning(
                    f"{role} has the right to {excess[0]}, and {len(excess) - 1} more that the "
                    "server does not need.",
                    hint="Let the server work as a role that `manage.py make_application_role` "
                    "has made.",
                    id="kit.W005",
                )
            )
    return found
