"""A worker that is killed, as by kill -9 or a power cut, at a point of its work that has a name."""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Callable
from typing import Any, NoReturn

from django.db import connection

from deploy.kit.models import Person
from deploy.kit.outbox import put_in_outbox
from deploy.kit.requests_once import Asked, take_once
from implants.models import Unit
from implants.operations.theatre import pick_unit
from scheduling.models import Case
from scheduling.operations.reservations import reserve_tray, reserve_unit
from tests.factories import NOW
from trays.models import Tray

BEFORE, AFTER = "before", "after"

POINTS: dict[str, tuple[str, str]] = {
    "before the key is looked up": (BEFORE, r"SELECT .*kit_requestkey"),
    "after the case is locked": (AFTER, r"SELECT .*FROM .scheduling_case\b"),
    "after the tray is locked": (AFTER, r"SELECT .*FROM .trays_tray\b"),
    "before the tray is promised": (BEFORE, r"INSERT INTO .scheduling_trayreservation"),
    "after the tray is promised": (AFTER, r"INSERT INTO .scheduling_trayreservation"),
    "after the box is locked": (AFTER, r"SELECT .*FROM .implants_unit\b"),
    "after the box is promised": (AFTER, r"INSERT INTO .scheduling_unitreservation"),
    "before the box is picked": (BEFORE, r"INSERT INTO .implants_unitmovement"),
    "after the box is picked": (AFTER, r"INSERT INTO .implants_unitmovement"),
    "after the mail is put down": (AFTER, r"INSERT INTO .kit_outboxmessage"),
    "after the answer is kept": (AFTER, r"INSERT INTO .kit_requestkey"),
    "before the commit": (BEFORE, "COMMIT"),
    "after the commit, before the answer": (AFTER, "COMMIT"),
}
"""Where, as a statement of the database that is before or behind."""

DONE_BY_THEN = {"after the commit, before the answer"}


def die(*_: Any) -> NoReturn:
    os.kill(os.getpid(), signal.SIGKILL)
    raise AssertionError("unreachable")


def fetch_for_a_case(*, number: int, deadly: bool, first: int) -> dict[str, Any] | None:
    """Promise tray and box to the worker's case, pick the box and tell of it: one request.

    `deadly`: the worker dies at the point of its number.
    """
    ref = f"C{first + number}"
    by = Person.objects.select_related("user", "site").get(user__username="coordinator")
    case = Case.objects.get(ref=ref)
    tray = Tray.objects.get(code=f"T{first + number}")
    unit = Unit.objects.get(code=f"U{first + number}")
    if deadly:
        _die_at(*POINTS[list(POINTS)[number]])

    def act() -> dict[str, Any]:
        reserve_tray(case=case, tray=tray, by=by, now=NOW)
        reserve_unit(case=case, unit=unit, by=by, now=NOW)
        pick_unit(unit=unit, case_ref=case.ref, by=by, now=NOW)
        put_in_outbox(kind="told", to="a@b.example", subject=ref, body="picked")
        return {"picked": unit.code}

    return take_once(Asked(by, f"fetch {ref}", b""), act, wait=True)


def _die_at(when: str, statement: str) -> None:
    if statement == "COMMIT":
        _die_at_commit(when)
        return

    def watching(execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
        is_it = re.match(statement, sql)
        if is_it and when == BEFORE:
            die()
        result = execute(sql, *rest)
        return die() if is_it else result

    connection.execute_wrappers.append(watching)


def _die_at_commit(when: str) -> None:
    commit = connection._commit

    def dying() -> None:
        if when == AFTER:
            commit()
        die()

    connection._commit = dying
