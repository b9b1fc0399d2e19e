"""Tell people about a case, once each; take what was read off the list; be on a case."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from deploy.kit.models import Person
from deploy.kit.outbox import put_in_outbox
from scheduling.alerts.queries import alerted_about
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


def tell(
    *,
    case: Case,
    text: str,
    now: datetime,
    but: Person | None = None,
    about_cover: bool = False,
) -> None:
    """The case's surgeon and whoever is on it; part of another operation's transaction.

    On their list in the app, and by mail where they have an address.  `about_cover`: it says that
    cover was lost and nothing else; whom an alert tells that is not told again.  3 queries, 2 more
    about cover, and one a mail.
    """
    to = concerned(case, but=but) - (alerted_about(case) if about_cover else frozenset())
    tell_people({key: [(case, text)] for key in to}, now=now, about_cover=about_cover)


def tell_people(
    said: Mapping[int, Sequence[tuple[Case, str]]], *, now: datetime, about_cover: bool = False
) -> None:
    """Each account once, of all its cases together.  2 queries, and one a mail."""
    texts = {key: " ".join(text for _, text in of_key) for key, of_key in said.items()}
    for user in User.objects.filter(pk__in=said).exclude(email=""):
        about = ", ".join(case.ref for case, _ in said[user.pk])
        put_in_outbox(
            kind="case notice", to=user.email, subject=f"Case {about}", body=texts[user.pk]
        )
    Notice.objects.bulk_create(
        Notice(to_id=key, case=said[key][0][0], text=texts[key], at=now, about_cover=about_cover)
        for key in sorted(said)
    )


def fold_into_alert(*, case: Case, keys: Collection[int], now: datetime) -> frozenset[int]:
    """An alert says now that the case lost its cover: notices that say the same leave these
    accounts' lists.  Whose they were; they had their mail.  Part of another operation."""
    same = Notice.objects.filter(case=case, about_cover=True, seen_at=None, to__in=list(keys))
    had = frozenset(same.values_list("to_id", flat=True))
    same.update(seen_at=now)
    return had


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
