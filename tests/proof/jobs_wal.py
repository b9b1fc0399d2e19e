"""A writer that notes what stands after each of its commits."""

from __future__ import annotations

import hashlib
import sqlite3
from typing import Any

from django.db import connection

from deploy.kit.models import Person
from deploy.kit.requests_once import Asked, take_once
from implants.models import Unit
from implants.operations.holds import quarantine
from implants.operations.shelf import put_away
from tests.factories import NOW

TABLES = ("implants_unitmovement", "implants_unit", "kit_requestkey", "kit_outboxmessage")


def state_of(there: sqlite3.Connection) -> str:
    """Of all that the writer writes, by a hash."""
    digest = hashlib.sha256()
    for table in TABLES:
        for row in there.execute(f"SELECT * FROM {table} ORDER BY id"):
            digest.update(repr(tuple(row)).encode())
    return digest.hexdigest()


def write_and_note(*, number: int, commits: int) -> list[str]:
    """What stood before the first commit and after each; nothing moves from the log meanwhile."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_autocheckpoint = 0")
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    by = Person.objects.select_related("user", "site").get()
    units = list(Unit.objects.order_by("pk"))
    # A plain reader beside the writer: Django's own connection gives dates for texts.
    there = sqlite3.connect(connection.settings_dict["NAME"])
    noted = [state_of(there)]
    for turn in range(commits):
        unit = units[turn % len(units)]

        def act(unit: Unit = unit, turn: int = turn) -> dict[str, Any]:
            put_away(unit=unit, location=f"A-{turn}", by=by, now=NOW)
            return {"unit": quarantine(unit=unit, reason="r", by=by, now=NOW).seq}

        if turn < len(units):
            take_once(Asked(by, f"k{turn}", b""), act, wait=True)
        else:
            quarantine(unit=unit, reason=f"again {turn}", by=by, now=NOW)
        noted.append(state_of(there))
    return noted
