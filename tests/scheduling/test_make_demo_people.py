from __future__ import annotations

import pytest
from django.contrib.auth import authenticate
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command

from scheduling.demo_people import DEMO_PASSWORD, demo_people
from scheduling.models import Surgeon

PEOPLE = [
    ("sterile", "sterile services"),
    ("coordinator", "implant coordinator"),
    ("theatre", "theatre"),
    ("manager", "manager"),
    ("mx-alder", "surgeon"),
]


def test_makes_one_a_role_and_one_for_each_surgeon(site, settings, capsys):
    settings.DEMO = True
    alder = Surgeon.objects.create(site=site, name="Mx Alder")
    call_command("make_demo_people")
    call_command("make_demo_people")
    assert demo_people() == PEOPLE
    alder.refresh_from_db()
    assert alder.user == authenticate(username="mx-alder", password=DEMO_PASSWORD)
    assert [user.username for user in User.objects.filter(is_staff=True)] == ["coordinator"]
    assert f"mx-alder                 surgeon                  {DEMO_PASSWORD}" in (
        capsys.readouterr().out
    )


def test_listing_costs_two_queries(coordinator, surgeon, django_assert_num_queries):
    with django_assert_num_queries(2):
        assert demo_people() == [("coordinator", "implant coordinator"), ("surgeon", "surgeon")]


def test_refuses_outside_a_demonstration(site, settings):
    settings.DEMO = False
    with pytest.raises(CommandError, match="Only for a demonstration"):
        call_command("make_demo_people")
    assert not User.objects.exists()


def test_asks_which_site_where_there_are_several(site, stranger, settings):
    settings.DEMO = True
    with pytest.raises(CommandError, match="2 sites fit; name one with --site CODE"):
        call_command("make_demo_people")
