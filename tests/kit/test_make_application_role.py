from __future__ import annotations

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from deploy.kit.application_role import rights


def test_what_the_server_may_do_with_what_was_recorded():
    granted = rights()
    assert granted["implants_unit"] == ("SELECT", "INSERT", "UPDATE", "DELETE")
    assert granted["scheduling_unitreservation"] == ("SELECT", "INSERT", "UPDATE")
    for table in ("implants_unitmovement", "trays_traymovement", "kit_securityevent"):
        assert granted[table] == ("SELECT", "INSERT")
    for table in ("implants_unitmove", "trays_traymove", "auth_permission", "django_migrations"):
        assert granted[table] == ("SELECT",)


def test_it_is_made_where_there_are_roles_and_is_not_the_owner(db):
    said = "SQLite has no roles" if connection.vendor == "sqlite" else "owns the tables"
    with pytest.raises(CommandError, match=said):
        call_command("make_application_role", connection.settings_dict.get("USER") or "muster")
