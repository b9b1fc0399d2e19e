"""The account of a request: one query for all that every request asks; what it may do comes from
its roles alone."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import Permission, User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from deploy.kit.accounts import Accounts
from deploy.kit.models import Person
from deploy.kit.role_change import give_roles
from deploy.roles import ROLES

pytestmark = pytest.mark.django_db


def test_one_query_gives_the_person_the_place_of_work_and_the_clocks(theatre_team: Person) -> None:
    with CaptureQueriesContext(connection) as asked:
        user = Accounts().get_user(theatre_team.user.pk)
        assert user is not None
        assert (user.person, user.person.site) == (theatre_team, theatre_team.site)
        assert vars(user).keys() >= {"database_clock", "newest_of_unit", "newest_of_tray"}
        assert user.person.user is user
        assert user.get_all_permissions() == set(ROLES["theatre"])
    assert len(asked) == 1


def test_several_roles_give_what_each_of_them_gives(theatre_team: Person) -> None:
    give_roles(theatre_team.user, ["theatre", "surgeon"])
    user = Accounts().get_user(theatre_team.user.pk)
    assert user is not None
    assert user.get_all_permissions() == {*ROLES["theatre"], *ROLES["surgeon"]}


def test_an_account_read_otherwise_may_do_the_same(theatre_team: Person) -> None:
    other = User.objects.get(pk=theatre_team.user.pk)
    assert other.get_all_permissions() == set(ROLES["theatre"])


def test_a_closed_account_is_nobody(theatre_team: Person) -> None:
    User.objects.filter(pk=theatre_team.user.pk).update(is_active=False)
    assert Accounts().get_user(theatre_team.user.pk) is None


def test_an_account_without_a_place_of_work_enters_no_door(client: Any) -> None:
    user = User.objects.create(username="visitor", is_superuser=True)
    client.force_login(user)
    assert client.get("/needed-next/").status_code == 403


def test_a_permission_past_the_roles_opens_nothing(theatre_team: Person) -> None:
    user = theatre_team.user
    user.user_permissions.add(Permission.objects.get(codename="receive"))
    for fresh in (User.objects.get(pk=user.pk), Accounts().get_user(user.pk)):
        assert fresh is not None
        assert not fresh.has_perm("implants.receive")
    user.groups.clear()
    assert User.objects.get(pk=user.pk).get_all_permissions() == set()
    without = Accounts().get_user(user.pk)
    assert without is not None
    assert without.get_all_permissions() == set()
