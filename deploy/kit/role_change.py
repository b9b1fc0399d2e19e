"""Changing a person's roles: takes two people."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib.auth.models import Group, User

from deploy.kit.models import Proposal, What
from deploy.kit.security_log import record
from deploy.kit.two_people import Act, Outdated, propose, register


def roles_of(user: User) -> list[str]:
    """The names of the account's roles, sorted.  One query."""
    return sorted(user.groups.values_list("name", flat=True))


def propose_roles(*, user: User, roles: Collection[str], by: Any, now: datetime) -> Proposal:
    """Propose that the account has these roles and no others.  NotAllowed."""
    values = {
        "user": user.pk,
        "name": user.get_username(),
        "from": roles_of(user),
        "to": sorted(roles),
    }
    return propose(CHANGE_ROLES, values, by=by, now=now)


def give_roles(user: User, roles: Collection[str]) -> None:
    """Set the roles, and with them whether the account sees the admin.

    Callers: a confirmed proposal, and the commands that make first accounts.
    """
    user.groups.set(Group.objects.filter(name__in=roles))
    user.is_staff = not settings.MUSTER_STAFF_ROLES.isdisjoint(roles)
    user.save(update_fields=["is_staff"])


def _say(values: Mapping[str, Any]) -> str:
    before, after = (", ".join(values[key]) or "no role" for key in ("from", "to"))
    return f"{values['name']}: from {before} to {after}"


def _carry_out(values: Mapping[str, Any], *, by: Any, confirmed_by: Any) -> None:
    # Locked, so that two proposals for one account come one after the other.
    user = User.objects.select_for_update().get(pk=values["user"])
    if roles_of(user) != values["from"]:
        raise Outdated
    give_roles(user, values["to"])
    record(What.ROLE, who=confirmed_by, about=user, detail=_say(values))


CHANGE_ROLES = register(
    Act(name="change_roles", permission="kit.change_roles", say=_say, carry_out=_carry_out)
)
