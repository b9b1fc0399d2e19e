"""One proposes, a second one confirms; shown on the change of a role."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from deploy.kit.models import Proposal, SecurityEvent
from deploy.kit.role_change import propose_roles, roles_of
from deploy.kit.two_people import (
    Closed,
    NotAllowed,
    Outdated,
    SamePerson,
    confirm,
    open_proposals,
    withdraw,
)
from tests.factories import NOW


@pytest.fixture
def proposal(theatre_team, administrator) -> Proposal:
    return propose_roles(
        user=theatre_team.user, roles=["implant coordinator"], by=administrator.user, now=NOW
    )


def roles(person) -> list[str]:
    return roles_of(person.user)


def test_a_proposal_changes_nothing_yet(proposal, theatre_team):
    assert proposal.said == "theatre: from theatre to implant coordinator"
    assert roles(theatre_team) == ["theatre"]


def test_a_second_person_confirms_and_it_is_done(proposal, theatre_team, other_administrator):
    confirm(proposal, by=other_administrator.user, now=NOW)
    theatre_team.user.refresh_from_db()
    assert roles(theatre_team) == ["implant coordinator"]
    assert theatre_team.user.is_staff
    proposal.refresh_from_db()
    assert (proposal.state(NOW), proposal.confirmed_by) == ("confirmed", other_administrator.user)


def test_the_same_person_can_not_confirm(proposal, theatre_team, administrator):
    with pytest.raises(SamePerson):
        confirm(proposal, by=administrator.user, now=NOW)
    assert roles(theatre_team) == ["theatre"]


def test_the_database_refuses_the_same_person_too(proposal, administrator):
    with pytest.raises(IntegrityError), transaction.atomic():
        Proposal.objects.update(confirmed_by=administrator.user, closed_at=NOW)


@pytest.mark.parametrize("role", ["coordinator", "manager", "stranger", "theatre_team"])
def test_without_the_permission_one_neither_proposes_nor_confirms_nor_withdraws(
    role, proposal, theatre_team, request
):
    by = request.getfixturevalue(role).user
    with pytest.raises(NotAllowed):
        propose_roles(user=theatre_team.user, roles=["administrator"], by=by, now=NOW)
    with pytest.raises(NotAllowed):
        confirm(proposal, by=by, now=NOW)
    with pytest.raises(NotAllowed):
        withdraw(proposal, by=by, now=NOW)
    assert roles(theatre_team) == ["theatre"]


@pytest.mark.parametrize(
    ("later", "state"), [(timedelta(hours=24), "expired"), (timedelta(hours=23), "open")]
)
def test_it_expires_after_a_day(later, state, proposal, other_administrator):
    assert proposal.state(NOW + later) == state
    waiting = open_proposals(other_administrator.user, NOW + later)
    assert list(waiting) == ([proposal] if state == "open" else [])


def test_an_expired_one_can_not_be_confirmed(proposal, theatre_team, other_administrator):
    with pytest.raises(Closed):
        confirm(proposal, by=other_administrator.user, now=NOW + timedelta(hours=24))
    assert roles(theatre_team) == ["theatre"]


def test_it_is_done_once(proposal, theatre_team, other_administrator):
    confirm(proposal, by=other_administrator.user, now=NOW)
    theatre_team.user.groups.clear()
    with pytest.raises(Closed):
        confirm(proposal, by=other_administrator.user, now=NOW)
    assert roles(theatre_team) == []


def test_a_withdrawn_one_can_not_be_confirmed(proposal, administrator, other_administrator):
    withdraw(proposal, by=administrator.user, now=NOW)
    proposal.refresh_from_db()
    assert proposal.state(NOW) == "withdrawn"
    with pytest.raises(Closed):
        confirm(proposal, by=other_administrator.user, now=NOW)


def test_what_rests_on_something_that_changed_is_refused_and_stays_open(
    proposal, theatre_team, other_administrator
):
    theatre_team.user.groups.clear()
    with pytest.raises(Outdated):
        confirm(proposal, by=other_administrator.user, now=NOW)
    assert roles(theatre_team) == []
    proposal.refresh_from_db()
    assert proposal.state(NOW) == "open"


def test_all_of_it_is_in_the_log(proposal, administrator, other_administrator):
    with pytest.raises(SamePerson):
        confirm(proposal, by=administrator.user, now=NOW)
    confirm(proposal, by=other_administrator.user, now=NOW)
    rows = SecurityEvent.objects.order_by("pk")
    change = "theatre: from theatre to implant coordinator"
    assert list(rows.values_list("what", "outcome", "who__username", "detail")) == [
        ("two people", "done", "administrator", f"proposed {proposal.pk}: {change}"),
        ("two people", "refused", "administrator", f"confirm {proposal.pk}: same_person"),
        ("role", "done", "other-administrator", change),
        ("two people", "done", "other-administrator", f"confirmed {proposal.pk}"),
    ]
