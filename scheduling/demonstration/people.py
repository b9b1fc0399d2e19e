"""The people of the demonstration: one a role, and one for each surgeon.  Never on a real site."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.text import slugify

from deploy.kit.credentials import set_badge, set_pin
from deploy.kit.models import Person, Site
from deploy.kit.role_change import give_roles
from scheduling.models import Surgeon

DEMO_PASSWORD = "ottermere"
"""Known to everybody: shown on the log-in page of the demonstration, and only there."""

DEMO_PIN = "4071"
"""Everybody's, shown in the same places."""

COORDINATOR = "implant coordinator"
THEATRE = "theatre"
_ONE_A_ROLE = {
    "sterile": "sterile services",
    "coordinator": COORDINATOR,
    "theatre": THEATRE,
    "manager": "manager",
    "implant-lead": "implant lead",
    "administrator": "administrator",
    # Changing a role takes two people.
    "administrator-2": "administrator",
}


def badge_of(username: str) -> str:
    """What the badge of somebody in the demonstration says when it is scanned."""
    return f"badge-{username}"


def demo_people() -> list[tuple[str, str, str]]:
    """(username, role, badge) of everybody who may log in, in the order in which they were made.

    Two queries.
    """
    users = User.objects.filter(is_active=True, person__isnull=False).order_by("pk")
    return [
        (
            user.get_username(),
            ", ".join(group.name for group in user.groups.all()),
            badge_of(user.get_username()),
        )
        for user in users.prefetch_related("groups")
    ]


@transaction.atomic
def make_demo_people(*, site: Site) -> list[tuple[str, str]]:
    """Make whoever is not there yet, and give everybody the known word; (username, role)."""
    made = [
        (_account(site, name, role.capitalize(), role), role) for name, role in _ONE_A_ROLE.items()
    ]
    for surgeon in Surgeon.objects.filter(site=site).select_related("user"):
        if surgeon.user is None:
            surgeon.user = _account(site, slugify(surgeon.name), surgeon.name, "surgeon")
            surgeon.save(update_fields=["user"])
        made.append((surgeon.user, "surgeon"))
    return [(user.get_username(), role) for user, role in made]


def _account(site: Site, username: str, name: str, role: str) -> User:
    user, _ = User.objects.get_or_create(username=username)
    user.first_name = name
    user.set_password(DEMO_PASSWORD)
    user.save()
    give_roles(user, [role])
    person, _ = Person.objects.get_or_create(user=user, defaults={"site": site})
    set_pin(person=person, pin=DEMO_PIN, by=None)
    set_badge(person=person, badge=badge_of(username), by=None)
    return user
