"""The head of the records: a hash over everything that was recorded so far.

Copied to where nobody of this machine can write, it shows later whether what stood there then
still stands.  The owner of the database can lift its rules and rights, and a forgery that fits
together passes every replay; it does not pass this.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from hashlib import sha256

from django.apps import apps
from django.db import connections, transaction
from django.db.models import Max, Model

from deploy.kit.guards import refused_always

CHUNK = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The rows of `table` with ids up to `last`: how many, and their hash over `columns`.

    `columns` are kept since a later version may have more of them.
    """

    table: str
    last: int
    rows: int
    columns: tuple[str, ...]
    sha256: str


def recorded(vendor: str) -> list[type[Model]]:
    """The models whose rows are added and never changed, as the rules of the database say."""
    refused = refused_always(vendor)
    models = (model for model in apps.get_models() if model._meta.managed)
    return [
        model
        for model in models
        if {(model._meta.db_table, "UPDATE"), (model._meta.db_table, "DELETE")} <= refused
    ]


def heads(using: str = "default") -> list[Head]:
    """The head of each table.  Reads every row once; writers wait a moment, for its last id."""
    return [
        _head(
            model,
            last=_last(model, using),
            columns=tuple(field.attname for field in model._meta.concrete_fields),
            using=using,
        )
        for model in recorded(connections[using].vendor)
    ]


def altered(kept: Iterable[Head], using: str = "default") -> Iterator[str]:
    """A line for each table that no longer begins with the rows of the head that was kept."""
    models = {model._meta.db_table: model for model in recorded(connections[using].vendor)}
    for head in kept:
        model = models.get(head.table)
        if model is None:
            yield f"{head.table}: was recorded, and is no more"
            continue
        gone = set(head.columns) - {field.attname for field in model._meta.concrete_fields}
        if gone:
            yield f"{head.table}: {', '.join(sorted(gone))} was recorded, and is no more"
            continue
        now = _head(model, last=head.last, columns=head.columns, using=using)
        if now.rows != head.rows:
            yield f"{head.table}: {head.rows} rows were recorded, {now.rows} of them are there"
        elif now != head:
            yield f"{head.table}: what was recorded is not what stands there now"


def to_text(kept: Iterable[Head]) -> str:
    return json.dumps([asdict(head) for head in kept], indent=1) + "\n"


def from_text(text: str) -> list[Head]:
    """ValueError where it is no head."""
    rows = json.loads(text)
    if not isinstance(rows, list) or not rows:
        raise ValueError("a list of heads was expected")
    try:
        return [Head(**{**row, "columns": tuple(row["columns"])}) for row in rows]
    except (TypeError, KeyError) as fault:
        raise ValueError(f"{fault} was not expected") from None


def _last(model: type[Model], using: str) -> int:
    """The highest id of which every lower one is recorded already, or never will be."""
    connection = connections[using]
    with transaction.atomic(using=using), connection.cursor() as cursor:
        # Whoever has taken an id has the table too, until its row is committed or undone.
        if connection.vendor == "postgresql":
            cursor.execute(f'LOCK TABLE "{model._meta.db_table}" IN SHARE MODE')
        last = model._base_manager.using(using).aggregate(last=Max("pk"))["last"]
        return last or 0


def _head(model: type[Model], *, last: int, columns: tuple[str, ...], using: str) -> Head:
    rows = model._base_manager.using(using).filter(pk__lte=last).order_by("pk")
    digest, count = sha256(), 0
    for row in rows.values_list(*columns).iterator(chunk_size=CHUNK):
        digest.update(json.dumps(row, default=str).encode() + b"\n")
        count += 1
    return Head(
        table=model._meta.db_table,
        last=last,
        rows=count,
        columns=columns,
        sha256=digest.hexdigest(),
    )
