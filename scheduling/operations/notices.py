"""Tell people about a case, once each; take what was read off the list; be on a case."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from deploy.kit.models import Person
from deploy.kit.outbox import put_in_outbox
from scheduling.errors import Refused
from scheduling.models import Case, Notice, OnIt
from scheduling.operations.locks import locked_open_case


def concerned(case: Case, *, but: Person | None = None) -> frozenset[int]:
    """The accounts of the case's surgeon and of whoever is on it; not `but`, who knows.  One
    query."""
    keys = {one.by_id for one in OnIt.objects.filter(case=case, ended_at=None)}
    if case.surgeon is not None and case.surgeon.user_id is not None:
        keys.add(case.surgeon.user_id)
    return frozenset(keys - ({but.user.pk} if but else set()))


def tell(*, case: Case, text: str, now: datetime, but: Person | None = None) -> None:
    """The case's surgeon and whoever is on it; part of another operation's transaction.

    On their list in the app, and by mail where they have an address.  3 queries, and one a mail.
    """
    tell_people({key: [(case, text)] for key in concerned(case, but=but)}, now=now)


def tell_people(said: Mapping[int, Sequence[tuple[Case, str]]], *, now: datetime) -> None:
    """Each account once, of all its cases together.  2 queries, and one a mail."""
    texts = {key: " ".join(text for _, text in of_key) for key, of_key in said.items()}
    for user in User.objects.filter(pk__in=said).exclude(email=""):
        about = ", ".join(case.ref for case, _ in said[user.pk])
        put_in_outbox(
            kind="case notice", to=user.email, subject=f"Case {about}", body=texts[user.pk]
        )
    Notice.objects.bulk_create(
        Notice(to_id=key, case=said[key][0][0], text=texts[key], at=now) for key in sorted(said)
    )


@transaction.atomic
def mark_seen(*, notices: Iterable[int], by: Person, now: datetime) -> int:
    """Take notices off the person's own list; how many.  Others' are left alone."""
    own = Notice.objects.filter(pk__in=list(notices), to=by.user, seen_at=None)
    return own.update(seen_at=now)


@transaction.atomic
def take_on(*, case: Case, by: Person, now: datetime) -> OnIt:
    """The person is on the case's gaps from now.  The same again is harmless.

    Refused (case_is_over).
    """
    case = locked_open_case(case)
    found, _ = OnIt.objects.get_or_create(
        case=case, by=by.user, ended_at=None, defaults={"at": now}
    )
    return found


@transaction.atomic
def hand_back(*, case: Case, by: Person, now: datetime) -> None:
    """The person is on it no more.  Refused (not_on_it)."""
    live = OnIt.objects.filter(case=case, by=by.user, ended_at=None)
    if live.update(ended_at=now) != 1:
        raise Refused("not_on_it", case=case.ref)


def name_of(user: User) -> str:
    return user.get_full_name() or user.get_username()
