"""The role as which the server works on PostgreSQL: it reads and writes rows, and no more.

It makes and takes away no table, trigger or role.  What a rule of the database refuses in every
case (a movement changed, a reservation deleted), it has no right to do either; so whoever takes
over the server cannot lift the rules and write history anew.  Migrations, backups and
`verify_ledger` run as the owner of the tables.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper

from deploy.kit.guards import refused_always
from deploy.kit.ledger import ledgers

RIGHTS = ("SELECT", "INSERT", "UPDATE", "DELETE")

ONLY_MIGRATED = frozenset(
    {
        "django_migrations",
        "django_content_type",
        "auth_permission",
        "auth_group",
        "auth_group_permissions",
    }
)
"""Written by `migrate` alone: what there is, and what each role may."""


def rights() -> dict[str, tuple[str, ...]]:
    """Table → what the server may do with its rows."""
    moves = {f"{ledger.app}_{ledger.move}" for ledger in ledgers()}
    tables = {
        model._meta.db_table
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed
    }
    refused = refused_always("postgresql")
    return {
        table: ("SELECT",)
        if table in moves | ONLY_MIGRATED
        else tuple(right for right in RIGHTS if (table, right) not in refused)
        for table in sorted(tables | ONLY_MIGRATED)
    }


def statements(role: str, *, is_new: bool, connection: BaseDatabaseWrapper) -> Iterator[str]:
    """The SQL that makes the role, or brings it to what the code says now."""
    quote = connection.ops.quote_name
    name, database = quote(role), quote(str(connection.settings_dict["NAME"]))
    yield (
        f"{'CREATE' if is_new else 'ALTER'} ROLE {name} "
        "LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOREPLICATION NOBYPASSRLS"
    )
    yield f"REVOKE CREATE, TEMPORARY ON DATABASE {database} FROM PUBLIC, {name}"
    yield f"REVOKE CREATE ON SCHEMA public FROM PUBLIC, {name}"
    yield f"REVOKE ALL ON ALL TABLES IN SCHEMA public FROM PUBLIC, {name}"
    yield f"GRANT CONNECT ON DATABASE {database} TO {name}"
    yield f"GRANT USAGE ON SCHEMA public TO {name}"
    yield f"GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO {name}"
    for table, granted in rights().items():
        yield f"GRANT {', '.join(granted)} ON {quote(table)} TO {name}"


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """The rights that the role of this connection lacks, as `INSERT on kit_site`.  One query."""
    return _compared(connection, granted=False)


def excess(connection: BaseDatabaseWrapper) -> list[str]:
    """The rights that it has beyond these, as `TRUNCATE on kit_site`.  One query."""
    return _compared(connection, granted=True)


def _compared(connection: BaseDatabaseWrapper, *, granted: bool) -> list[str]:
    tables = set(connection.introspection.table_names())
    asked = [
        (right, table)
        for table, wanted in rights().items()
        if table in tables
        for right in (*RIGHTS, "TRUNCATE")
        if (right in wanted) is not granted
    ]
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT a.granted, a.named FROM unnest(%s::text[], %s::text[]) AS a(granted, named) "
            "WHERE has_table_privilege(quote_ident(a.named), a.granted) IS " + str(granted),
            [[right for right, _ in asked], [table for _, table in asked]],
        )
        return [f"{right} on {table}" for right, table in cursor.fetchall()]
