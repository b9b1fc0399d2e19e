"""Acts that take two people.

An act is registered under a name, with the permission that both people need.  One person
proposes it with its values; a second, different one confirms, and it is carried out in that
moment, in the same transaction, or refused.  A proposal that nobody confirms expires.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from deploy.kit.models import Outcome, Proposal, What
from deploy.kit.security_log import record

OPEN_FOR = timedelta(hours=24)


class TwoPeopleError(Exception):
    """An expected refusal; `code` says which, `say` words it."""

    code = ""
    say = ""

    def __init__(self) -> None:
        super().__init__(self.code)


class NotAllowed(TwoPeopleError):
    code = "not_allowed"
    say = "Your role can't do this."


class SamePerson(TwoPeopleError):
    code = "same_person"
    say = "A second person has to confirm this: you proposed it."


class Closed(TwoPeopleError):
    code = "closed"
    say = "This was confirmed or withdrawn before, or it has expired."


class Outdated(TwoPeopleError):
    """For `carry_out` to raise: what the proposal rests on has changed since."""

    code = "outdated"
    say = "What this proposal rests on has changed since. Propose it again."


@dataclass(frozen=True, slots=True)
class Act:
    """`carry_out(values, by=, confirmed_by=)` does it, inside the transaction of `confirm`;
    `say(values)` words it.  `values` are JSON."""

    name: str
    permission: str
    say: Callable[[Mapping[str, Any]], str]
    carry_out: Callable[..., None]


_ACTS: dict[str, Act] = {}


def register(act: Act) -> Act:
    """Make the act known, once, when its module is loaded."""
    assert _ACTS.setdefault(act.name, act) is act, f"two acts named {act.name}"
    return act


def propose(act: Act, values: Mapping[str, Any], *, by: Any, now: datetime) -> Proposal:
    """First of two people.  `by` is an account, `now` the real clock's.  NotAllowed."""
    if not by.has_perm(act.permission):
        raise NotAllowed
    with transaction.atomic():
        proposal = Proposal.objects.create(
            act=act.name,
            values=dict(values),
            said=act.say(values)[:300],
            by=by,
            at=now,
            expires_at=now + OPEN_FOR,
        )
        record(What.TWO_PEOPLE, who=by, detail=f"proposed {proposal.pk}: {proposal.said}")
    return proposal


def confirm(proposal: Proposal, *, by: Any, now: datetime) -> None:
    """Second of two people: carries it out.  NotAllowed, SamePerson, Closed, or what the act
    itself refuses; then nothing has happened, and the refusal is in the log."""
    act = _ACTS[proposal.act]
    try:
        if not by.has_perm(act.permission):
            raise NotAllowed
        if proposal.by_id == by.pk:
            raise SamePerson
        with transaction.atomic():
            _close(proposal, now, confirmed_by=by)
            act.carry_out(proposal.values, by=proposal.by, confirmed_by=by)
            record(What.TWO_PEOPLE, who=by, about=proposal.by, detail=f"confirmed {proposal.pk}")
    except TwoPeopleError as refusal:
        detail = f"confirm {proposal.pk}: {refusal.code}"
        record(What.TWO_PEOPLE, Outcome.REFUSED, who=by, about=proposal.by, detail=detail)
        raise


def withdraw(proposal: Proposal, *, by: Any, now: datetime) -> None:
    """Close it undone; whoever may propose may.  NotAllowed, Closed."""
    if not by.has_perm(_ACTS[proposal.act].permission):
        raise NotAllowed
    with transaction.atomic():
        _close(proposal, now, confirmed_by=None)
        record(What.TWO_PEOPLE, who=by, about=proposal.by, detail=f"withdrew {proposal.pk}")


def open_proposals(user: Any, now: datetime) -> QuerySet[Proposal]:
    """What waits for a second person with this account's permissions, its own included."""
    theirs = [act.name for act in _ACTS.values() if user.has_perm(act.permission)]
    waiting = Q(closed_at=None, expires_at__gt=now)
    return Proposal.objects.filter(waiting, act__in=theirs).select_related("by")


def _close(proposal: Proposal, now: datetime, *, confirmed_by: Any) -> None:
    """Exactly one of several at once closes it."""
    still_open = Proposal.objects.filter(pk=proposal.pk, closed_at=None, expires_at__gt=now)
    if still_open.update(closed_at=now, confirmed_by=confirmed_by) != 1:
        raise Closed
