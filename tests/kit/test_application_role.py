"""The server's role on PostgreSQL: the pages work as it, and what was recorded is out of reach."""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import ProgrammingError, connection
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Proposal, SecurityEvent
from deploy.kit.role_change import propose_roles
from deploy.kit.two_people import confirm
from implants.models import Unit
from implants.operations.holds import quarantine
from tests.factories import NOW, PASSWORD
from tests.hospital import Hospital, hospital

__all__ = ["hospital"]

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def role() -> Iterator[str]:
    """Made by the owner, who is back at the end."""
    # Roles are the whole cluster's, and each process has a database of its own there.
    name = f"server_of_{connection.settings_dict['NAME']}"
    call_command("make_application_role", name, stdout=StringIO())
    yield name
    with connection.cursor() as cursor:
        cursor.execute(f'DROP OWNED BY "{name}"')
        cursor.execute(f'DROP ROLE "{name}"')


@pytest.fixture
def as_server(role: str) -> Iterator[None]:
    """The connection is the server's own: not a role that it could leave again."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(connection.settings_dict, "USER", role)
        connection.close()
        yield
        connection.close()


def run(sql: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql)


RECORDED = ("implants_unitmovement", "trays_traymovement", "kit_securityevent")


HISTORY = (
    *(f"UPDATE {table} SET id = id" for table in RECORDED),
    *(f"DELETE FROM {table}" for table in RECORDED),
    *(f"TRUNCATE {table}" for table in (*RECORDED, "implants_unit", "kit_person")),
    "DELETE FROM scheduling_unitreservation",
    "INSERT INTO implants_unitmove (from_state, to_state, kind) VALUES ('implanted', '', 'x')",
    "UPDATE auth_permission SET codename = 'x'",
    "DELETE FROM django_migrations",
)
RULES_AND_TABLES = (
    *(f"ALTER TABLE {table} DISABLE TRIGGER ALL" for table in RECORDED),
    "DROP TRIGGER implants_unit_movement_no_update ON implants_unitmovement",
    'CREATE OR REPLACE FUNCTION "implants_unit_movement_no_update"() RETURNS trigger '
    "LANGUAGE plpgsql AS $$BEGIN RETURN NEW; END$$",
    "SET session_replication_role = replica",
    "DROP TABLE kit_securityevent",
    "ALTER TABLE implants_unit DROP COLUMN state",
    "CREATE TABLE another (id int)",
    "CREATE TEMPORARY TABLE another (id int)",
    "CREATE SCHEMA another",
    "CREATE ROLE another",
)


def is_refused(sql: str) -> bool:
    """For want of a right: not because the statement is wrong."""
    try:
        run(sql)
    except ProgrammingError as refusal:
        return bool(re.match("permission denied|must be owner", str(refusal)))
    return False


def test_what_was_recorded_and_its_rules_are_out_of_reach(as_server: None) -> None:
    assert [sql for sql in (*HISTORY, *RULES_AND_TABLES) if not is_refused(sql)] == []


def test_the_pages_work_as_the_server(
    hospital: Hospital, coordinator, administrator, other_administrator, as_server
) -> None:
    coordinator.user.set_password(PASSWORD)
    coordinator.user.save()
    browser = Client()
    name = coordinator.user.username
    browser.post(reverse("login"), {"username": name, "password": PASSWORD})
    print_list = reverse("pick_list_for_case", args=[hospital.case.pk])
    assert browser.post(print_list).status_code == 302
    quarantine(unit=Unit.objects.get(), reason="dropped", by=coordinator, now=NOW)
    assert Unit.objects.get().state == "quarantine"
    proposal = propose_roles(
        user=coordinator.user, roles=["manager"], by=administrator.user, now=NOW
    )
    confirm(Proposal.objects.get(pk=proposal.pk), by=other_administrator.user, now=NOW)
    assert [group.name for group in coordinator.user.groups.all()] == ["manager"]
    browser.post(reverse("logout"))
    assert {"log-in", "log-out", "role"} <= set(
        SecurityEvent.objects.values_list("what", flat=True)
    )


def check() -> str:
    """What the server says of its rights when it starts."""
    said = StringIO()
    call_command(
        "check", tags=["database"], databases=["default"], deploy=True, stdout=said, stderr=said
    )
    return said.getvalue()


def test_nothing_is_said_of_rights_that_are_as_they_should_be(as_server, settings) -> None:
    settings.DEMO = True
    assert "kit." not in check()


def test_the_owner_is_told_to_be_no_server(settings) -> None:
    settings.DEMO = True
    assert "(kit.W005) muster has the right to" in check()


def test_the_server_does_not_start_without_a_right_that_it_needs(role, settings) -> None:
    settings.DEMO = True
    run(f'REVOKE INSERT ON kit_tries FROM "{role}"')
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(connection.settings_dict, "USER", role)
        connection.close()
        with pytest.raises(SystemCheckError, match=r"kit.E004.*no right to INSERT on kit_tries"):
            check()
        connection.close()
