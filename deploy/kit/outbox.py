"""The outbox: side effects are put down with the change, and done after it.

What a hook after the commit does is lost when the process dies between the two, and a failing hook
keeps the later ones from running.  A row in the outbox is there exactly when the change is;
`manage.py send_outbox` sends it, at least once: should the sender die after the sending and before
noting it, the message goes out again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.core.mail import EmailMessage
from django.db import connection
from django.db.models import F

from deploy.kit.models import OutboxMessage

BEING_SENT = timedelta(minutes=5)
"""Longer than any sending takes; then the sender is taken for dead."""

FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(hours=1)


def put_in_outbox(
    *, kind: str, to: str, subject: str, body: str, cause: str = ""
) -> OutboxMessage | None:
    """Part of another operation's transaction.  None where that cause was told to that address
    already: a cause that comes up anew needs a name of its own.  RuntimeError outside of one."""
    if not connection.in_atomic_block:
        raise RuntimeError("a message is put down in the transaction of what it tells")
    said = {"subject": " ".join(subject.split())[:200], "body": body}
    if not cause:
        return OutboxMessage.objects.create(kind=kind, to=to, **said)
    message, is_new = OutboxMessage.objects.get_or_create(
        kind=kind, to=to, cause=cause, defaults=said
    )
    return message if is_new else None


@dataclass(frozen=True, slots=True)
class Sending:
    """What became of one message."""

    message: OutboxMessage
    fault: str


def send_outbox(*, now: datetime, sender: str) -> Iterator[Sending]:
    """Send what is due, the oldest first; each message by itself, outside of any transaction.

    Several senders share the work: a message is one's whose conditional UPDATE changes its row.  A
    failure is kept and tried again, later each time, up to an hour apart, until it is sent.
    `now`: the real clock, for mail knows no other.
    """
    due = OutboxMessage.objects.filter(sent_at=None, next_try_at__lte=now).order_by("pk")
    for message in due.iterator():
        if not _claim(message, now):
            continue
        fault = _send(message, sender)
        if fault:
            waits = min(FIRST_WAIT * 2 ** min(message.tries, 10), LONGEST_WAIT)
            said = {"fault": fault, "next_try_at": now + waits}
        else:
            said = {"fault": "", "sent_at": now}
        OutboxMessage.objects.filter(pk=message.pk).update(**said)
        yield Sending(message, fault)


def _claim(message: OutboxMessage, now: datetime) -> bool:
    mine = OutboxMessage.objects.filter(
        pk=message.pk, sent_at=None, tries=message.tries, next_try_at__lte=now
    )
    return mine.update(tries=F("tries") + 1, next_try_at=now + BEING_SENT) == 1


def _send(message: OutboxMessage, sender: str) -> str:
    """An empty text, or why it was not sent: what goes wrong with one must not stop the rest."""
    mail = EmailMessage(message.subject, message.body, sender, [message.to])
    try:
        mail.send()
    except Exception as fault:
        return f"{type(fault).__name__}: {fault}"[:400]
    return ""
