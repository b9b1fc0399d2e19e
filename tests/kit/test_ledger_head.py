"""A history that was altered so that it fits together passes every replay, but not its head."""

from __future__ import annotations

from collections.abc import Callable
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from deploy.kit import guards
from deploy.kit.ledger_head import from_text, heads, recorded, to_text
from deploy.kit.models import What
from deploy.kit.security_log import record
from implants.ledger import UNITS
from implants.models import Unit, UnitMovement
from tests.factories import NOW
from tests.negative_controls.house import House, entry, house, kind
from tests.negative_controls.test_triggers import settle


@pytest.fixture
def rows(site, coordinator, manager) -> House:
    made = house(site, coordinator, manager)
    _pick(made)
    record(What.LOG_IN, who=coordinator.user)
    settle()
    return made


def _pick(made: House) -> None:
    made.unit.refresh_from_db()
    entry(made.unit, UNITS, made.by, kind(UNITS, made.unit, "pick"), case_ref="C1")
    made.unit.refresh_from_db()


def verify(**options: Path) -> list[str]:
    """What the command says and how it ended."""
    out = StringIO()
    try:
        call_command("verify_ledger", stdout=out, **options)
    except CommandError as error:
        return [*out.getvalue().splitlines(), str(error)]
    return []


@pytest.fixture
def head(rows: House, tmp_path: Path) -> Path:
    path = tmp_path / "head.json"
    assert verify(head=path) == []
    return path


def test_what_is_recorded_later_leaves_it_true(rows, head):
    entry(rows.unit, UNITS, rows.by, kind(UNITS, rows.unit, "put back"), case_ref="")
    record(What.LOG_OUT, who=rows.by.user)
    assert verify(against=head) == []


def another_person(rows: House) -> None:
    UnitMovement.objects.filter(unit=rows.unit, seq=2).update(by=rows.second.user)


def another_time(rows: House) -> None:
    UnitMovement.objects.filter(unit=rows.unit, seq=2).update(at=NOW.replace(minute=59))


def undone(rows: House) -> None:
    UnitMovement.objects.filter(unit=rows.unit, seq=2).delete()
    Unit.objects.filter(pk=rows.unit.pk).update(state="on the shelf", seq=1, case_ref="")


def put_in_place_of_another(rows: House) -> None:
    undone(rows)
    settle()
    guards.install(connection)
    _pick(rows)


def log_swept(rows: House) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM kit_securityevent")


@pytest.mark.parametrize(
    ("forge", "said"),
    [
        (another_person, "implants_unitmovement: what was recorded is not what stands there now"),
        (another_time, "implants_unitmovement: what was recorded is not what stands there now"),
        (undone, "implants_unitmovement: 4 rows were recorded, 3 of them are there"),
        (
            put_in_place_of_another,
            "implants_unitmovement: 4 rows were recorded, 3 of them are there",
        ),
        (log_swept, "kit_securityevent: 1 rows were recorded, 0 of them are there"),
    ],
)
def test_an_altered_history_is_noticed(
    forge: Callable[[House], None], said: str, rows: House, head: Path
) -> None:
    guards.lift(connection)
    forge(rows)
    settle()
    guards.install(connection)
    assert verify() == []  # it fits together
    assert verify(against=head) == [said, "1 breaches: the records are not whole"]


def test_it_covers_whatever_is_never_changed(db):
    names = {model.__name__ for model in recorded(connection.vendor)}
    assert {"UnitMovement", "TrayMovement", "SecurityEvent"} <= names


def test_a_head_is_read_back_as_it_was_written(rows):
    assert from_text(to_text(heads())) == heads()


def test_none_is_kept_of_records_with_a_breach(rows, tmp_path):
    guards.lift(connection)
    UnitMovement.objects.filter(unit=rows.unit, seq=2).delete()
    assert verify(head=tmp_path / "head.json")
    assert not (tmp_path / "head.json").exists()


@pytest.mark.parametrize("text", ["", "{}", "[1]", '[{"table": "x"}]', "no JSON"])
def test_a_file_that_is_no_head_is_refused_by_name(text, rows, tmp_path):
    path = tmp_path / "head.json"
    path.write_text(text)
    (said,) = verify(against=path)
    assert said.startswith(f"{path} is not a head that can be read: ")
