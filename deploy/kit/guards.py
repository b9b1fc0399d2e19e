"""Rules that the database keeps by itself, as triggers: data here, SQL for both databases.

A `Guard` refuses a write for which its condition holds; an `Effect` follows a write with another.
Conditions are SQL over NEW and OLD that both databases speak, or one text a database.  A condition
that is unknown (null) refuses nothing, so "must" is written as `NOT EXISTS (...)`.

An app hands its triggers to `keep` when it is loaded.  They are installed after every migrate.
On SQLite a migration that remakes a table drops its triggers in silence, and cannot remake one
to which another table's trigger refers: there they come off before a migrate that has anything
to do.  `faults` finds what is missing or not as it should be.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from django.apps import AppConfig
from django.core import checks
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models.signals import post_migrate, pre_migrate

ALWAYS = "TRUE"
"""The condition of a guard that lets no such write pass."""

Vendor = Literal["sqlite", "postgresql"]
Sql = str | Mapping[Vendor, str]


def spoken(sql: Sql, vendor: Vendor) -> str:
    return sql if isinstance(sql, str) else sql[vendor]


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """Refuse an INSERT, UPDATE, DELETE or (PostgreSQL only) TRUNCATE for which `when` holds.

    `lock`: the rows (`table WHERE ...`) that PostgreSQL locks before it looks, so that nobody
    changes meanwhile what the condition rests on; SQLite has one writer.  `only`: the one
    database that has this guard, where the other says it by a constraint.
    """

    name: str
    table: str
    before: Literal["INSERT", "UPDATE", "DELETE", "TRUNCATE"]
    when: Sql
    says: str
    lock: str = ""
    only: Vendor | None = None

    def is_for(self, vendor: Vendor) -> bool:
        return self.only in (None, vendor)

    def body(self, vendor: Vendor) -> str:
        """What the trigger does, as the database keeps it."""
        when = spoken(self.when, vendor)
        if vendor == "sqlite":
            return (
                f'CREATE TRIGGER "{self.name}" BEFORE {self.before} ON "{self.table}" WHEN {when} '
                f"BEGIN SELECT RAISE(ABORT, '{self.says}'); END"
            )
        lock = f"PERFORM 1 FROM {self.lock} FOR NO KEY UPDATE; " if self.lock else ""
        row = {"DELETE": "OLD", "TRUNCATE": "NULL"}.get(self.before, "NEW")
        return (
            f"BEGIN {lock}IF {when} THEN RAISE EXCEPTION '{self.says}' USING ERRCODE = "
            f"'integrity_constraint_violation', CONSTRAINT = '{self.name}'; END IF; "
            f"RETURN {row}; END"
        )

    @property
    def moment(self) -> str:
        return f"BEFORE {self.before}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """After an INSERT, do `do`."""

    name: str
    table: str
    do: Sql

    def is_for(self, vendor: Vendor) -> bool:
        return True

    def body(self, vendor: Vendor) -> str:
        do = spoken(self.do, vendor)
        if vendor == "sqlite":
            return f'CREATE TRIGGER "{self.name}" {self.moment} ON "{self.table}" BEGIN {do}; END'
        return f"BEGIN {do}; RETURN NULL; END"

    @property
    def moment(self) -> str:
        return "AFTER INSERT"


Trigger = Guard | Effect


def added_only(name: str, table: str, says: str) -> Iterator[Guard]:
    """Rows of the table are added, never changed and never deleted."""
    whats: tuple[Literal["UPDATE", "DELETE", "TRUNCATE"], ...] = ("UPDATE", "DELETE", "TRUNCATE")
    for what in whats:
        yield Guard(
            name=f"{name}_no_{what.lower()}",
            table=table,
            before=what,
            when=ALWAYS,
            says=says,
            only="postgresql" if what == "TRUNCATE" else None,
        )


def refused_always(vendor: str) -> set[tuple[str, str]]:
    """(table, write) of what the database refuses whatever the row."""
    return {
        (trigger.table, trigger.before)
        for trigger in kept(vendor)
        if isinstance(trigger, Guard) and trigger.when == ALWAYS
    }


_KEPT: dict[str, Trigger] = {}


def keep(app: AppConfig, triggers: Iterable[Trigger]) -> None:
    """Have the database keep the triggers; called when the app is loaded."""
    _KEPT.update({trigger.name: trigger for trigger in triggers})
    pre_migrate.connect(before_migrate, sender=app, dispatch_uid=f"guards off {app.label}")
    post_migrate.connect(after_migrate, sender=app, dispatch_uid=f"guards on {app.label}")


def kept(vendor: str) -> list[Trigger]:
    """Every trigger that a database of this vendor must have."""
    return [trigger for trigger in _KEPT.values() if trigger.is_for(_vendor(vendor))]


def before_migrate(*, using: str, plan: list[Any], **kwargs: Any) -> None:
    if plan and connections[using].vendor == "sqlite":
        lift(connections[using])


def after_migrate(*, using: str, **kwargs: Any) -> None:
    install(connections[using])


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every trigger in place whose table is there; one that is there is made anew."""
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for trigger in kept(connection.vendor):
            if trigger.table in tables:
                for statement in replacing(trigger, connection.vendor):
                    cursor.execute(statement)


def lift(connection: BaseDatabaseWrapper, names: Iterable[str] | None = None) -> None:
    """Take triggers away, all or those named.  For migrations and tests; `install` brings them."""
    chosen = None if names is None else set(names)
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for trigger in kept(connection.vendor):
            if trigger.table in tables and (chosen is None or trigger.name in chosen):
                for statement in _lifting(trigger, connection.vendor):
                    cursor.execute(statement)


def faults(connection: BaseDatabaseWrapper) -> list[str]:
    """A line for every trigger that is missing, switched off or not as the code has it.

    Two queries.  A table that is not there yet (before the first migrate) lacks nothing.
    """
    tables = set(connection.introspection.table_names())
    there = _there(connection)
    return [
        f"{trigger.table}: the database does not keep the rule {trigger.name}"
        for trigger in kept(connection.vendor)
        if trigger.table in tables
        and there.get(trigger.name) != (trigger.table, trigger.body(_vendor(connection.vendor)))
    ]


@checks.register(checks.Tags.database, deploy=True)
def guards_are_kept(
    databases: Sequence[str] | None = None, **kwargs: Any
) -> list[checks.CheckMessage]:
    """Found when the server starts, not by `migrate`, which brings what is missing."""
    return [
        checks.Error(
            fault, hint="Run `manage.py migrate`, then `manage.py verify_ledger`.", id="kit.E002"
        )
        for database in databases or ()
        for fault in faults(connections[database])
    ]


def _vendor(vendor: str) -> Vendor:
    assert vendor in ("sqlite", "postgresql"), f"no triggers are known for {vendor}"
    return vendor  # type: ignore[return-value]


def replacing(trigger: Trigger, vendor: str) -> list[str]:
    """The statements that put a trigger in the place of one of that name, if there is one."""
    return [*_lifting(trigger, vendor), *_making(trigger, vendor)]


def _lifting(trigger: Trigger, vendor: str) -> list[str]:
    if vendor == "sqlite":
        return [f'DROP TRIGGER IF EXISTS "{trigger.name}"']
    return [f'DROP TRIGGER IF EXISTS "{trigger.name}" ON "{trigger.table}"']


def _making(trigger: Trigger, vendor: str) -> list[str]:
    body = trigger.body(_vendor(vendor))
    if vendor == "sqlite":
        return [body]
    each = "STATEMENT" if trigger.moment.endswith("TRUNCATE") else "ROW"
    return [
        f'CREATE OR REPLACE FUNCTION "{trigger.name}"() RETURNS trigger LANGUAGE plpgsql '
        f"AS $body${body}$body$",
        f'CREATE TRIGGER "{trigger.name}" {trigger.moment} ON "{trigger.table}" '
        f'FOR EACH {each} EXECUTE FUNCTION "{trigger.name}"()',
    ]


_THERE = {
    "sqlite": "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'",
    # Not those that are switched off.
    "postgresql": "SELECT t.tgname, c.relname, p.prosrc FROM pg_trigger t "
    "JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid "
    "WHERE NOT t.tgisinternal AND t.tgenabled IN ('O', 'A') AND pg_table_is_visible(c.oid)",
}


def _there(connection: BaseDatabaseWrapper) -> dict[str, tuple[str, str]]:
    with connection.cursor() as cursor:
        cursor.execute(_THERE[connection.vendor])
        return {name: (table, body) for name, table, body in cursor.fetchall()}
