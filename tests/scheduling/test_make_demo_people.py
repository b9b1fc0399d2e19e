from __future__ import annotations

import pytest
from django.contrib.auth import authenticate
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command

from deploy.kit.credentials import person_of_badge, pin_fits
from scheduling.demonstration.people import DEMO_PASSWORD, DEMO_PIN, demo_people
from scheduling.models import Surgeon

PEOPLE = [
    ("sterile", "sterile services", "badge-sterile"),
    ("coordinator", "implant coordinator", "badge-coordinator"),
    ("theatre", "theatre", "badge-theatre"),
    ("manager", "manager", "badge-manager"),
    ("implant-lead", "implant lead", "badge-implant-lead"),
    ("administrator", "administrator", "badge-administrator"),
    ("administrator-2", "administrator", "badge-administrator-2"),
    ("mx-alder", "surgeon", "badge-mx-alder"),
]


def test_makes_one_a_role_and_one_for_each_surgeon(site, settings, capsys):
    settings.DEMO = True
    alder = Surgeon.objects.create(site=site, name="Mx Alder")
    call_command("make_demo_people")
    call_command("make_demo_people")
    assert demo_people() == PEOPLE
    alder.refresh_from_db()
    assert alder.user == authenticate(username="mx-alder", password=DEMO_PASSWORD)
    staff = User.objects.filter(is_staff=True).order_by("pk")
    assert [user.username for user in staff] == ["coordinator", "administrator", "administrator-2"]
    printed = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert ["mx-alder", "surgeon", DEMO_PASSWORD, "badge-mx-alder", DEMO_PIN] in printed
    assert person_of_badge("badge-mx-alder").user == alder.user
    assert pin_fits(alder.user, DEMO_PIN)


def test_listing_costs_two_queries(coordinator, surgeon, django_assert_num_queries):
    with django_assert_num_queries(2):
        assert demo_people() == [
            ("coordinator", "implant coordinator", "badge-coordinator"),
            ("surgeon", "surgeon", "badge-surgeon"),
        ]


def test_refuses_outside_a_demonstration(site, settings):
    settings.DEMO = False
    with pytest.raises(CommandError, match="Only for a demonstration"):
        call_command("make_demo_people")
    assert not User.objects.exists()


def test_asks_which_site_where_there_are_several(site, stranger, settings):
    settings.DEMO = True
    with pytest.raises(CommandError, match="2 sites fit; name one with --site CODE"):
        call_command("make_demo_people")
