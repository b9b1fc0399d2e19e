"""Who may do what in the admin: every model × person.  A model that is not in the table fails."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib import admin
from django.urls import reverse

from deploy.kit.models import Person

STAFF = ("coordinator", "stranger", "administrator")
READ, CHANGE, WRITE = "read", "change", "write"
COORDINATORS = {"coordinator": WRITE, "stranger": WRITE}
ADMINISTRATOR = {"administrator": WRITE}

# Model → person → what they may: read; change rows but add none; write (add and change).
# A person left out who works in the admin: 403; the others are sent to the log-in page.
TABLE: dict[str, dict[str, str]] = {
    "auth.user": ADMINISTRATOR,
    "kit.site": ADMINISTRATOR,
    "kit.person": ADMINISTRATOR,
    "kit.credential": ADMINISTRATOR,
    "kit.proposal": {"administrator": CHANGE},
    "kit.securityevent": {"administrator": READ},
    "trays.instrument": COORDINATORS,
    "trays.configuration": COORDINATORS,
    "trays.tray": COORDINATORS,
    "trays.machine": COORDINATORS,
    "trays.sterilesettings": COORDINATORS,
    "implants.implant": COORDINATORS,
    "implants.labelcode": COORDINATORS,
    "implants.supplier": COORDINATORS,
    "implants.shelfsettings": COORDINATORS,
    "implants.unit": COORDINATORS,
    "scheduling.technique": COORDINATORS,
    "scheduling.surgeon": COORDINATORS | ADMINISTRATOR,
    "scheduling.theatre": COORDINATORS | ADMINISTRATOR,
    # A site has one, and so has each in the cast.
    "scheduling.housesettings": dict.fromkeys(STAFF, CHANGE),
    "scheduling.openinghours": COORDINATORS | ADMINISTRATOR,
    "scheduling.closeddate": COORDINATORS | ADMINISTRATOR,
    "scheduling.oncallnight": COORDINATORS | ADMINISTRATOR,
    "scheduling.maker": COORDINATORS,
    "scheduling.taperpair": COORDINATORS,
}
OTHERS = ("sterile_services", "surgeon", "other_surgeon", "theatre_team", "manager")


def test_every_model_of_the_admin_is_in_the_table() -> None:
    assert sorted(model._meta.label_lower for model in admin.site._registry) == sorted(TABLE)


@pytest.mark.parametrize("model", TABLE)
def test_who_may_do_what(model: str, client_of: Any, request: pytest.FixtureRequest) -> None:
    pages = {page: reverse(f"admin:{model.replace('.', '_')}_{page}") for page in PAGES}
    answered, expected = {}, {}
    for who in (*STAFF, *OTHERS):
        person: Person = request.getfixturevalue(who)
        browser = client_of(person)
        may = TABLE[model].get(who)
        for page, address in pages.items():
            answered[who, page] = browser.get(address).status_code
            opens = may == WRITE or (may is not None and page == "changelist")
            expected[who, page] = 302 if who in OTHERS else 200 if opens else 403
    assert answered == expected


PAGES = ("changelist", "add")


@pytest.mark.parametrize("model", [model for model in TABLE if model.startswith(("auth", "kit"))])
def test_nobody_deletes_people_or_what_was_recorded(
    model: str, administrator: Person, other_administrator: Person
) -> None:
    assert not administrator.user.has_perm(model.replace(".", ".delete_"))


def test_an_administrator_does_no_clinical_writes(administrator: Person) -> None:
    clinical = ("book_case", "run_case", "reserve", "write_own_plan", "scan_pick_list")
    assert not any(administrator.user.has_perm(f"scheduling.{name}") for name in clinical)
    assert not administrator.user.is_superuser
