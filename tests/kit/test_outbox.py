"""Messages: there exactly when the change is, sent at least once, and none lost to a failure."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO

import pytest
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import transaction
from django.utils import timezone

from deploy.kit import outbox
from deploy.kit.models import OutboxMessage
from deploy.kit.outbox import put_in_outbox, send_outbox


@pytest.fixture
def now(db):
    """A little later than what the test writes."""
    return timezone.now() + timedelta(minutes=1)


def put(number=1, **said):
    values = {"kind": "alert", "to": "a@b.example", "subject": f"S{number}", "body": "B"}
    return put_in_outbox(**values | said)


def sent(now) -> list[tuple[str, str]]:
    done = send_outbox(now=now, sender="muster@b.example")
    return [(each.message.subject, each.fault) for each in done]


def test_is_sent_once(now):
    put()
    assert [sent(now), sent(now)] == [[("S1", "")], []]
    (message,) = mail.outbox
    assert (message.subject, message.body, message.to) == ("S1", "B", ["a@b.example"])
    kept = OutboxMessage.objects.get()
    assert (kept.tries, kept.sent_at) == (1, now)


def test_is_there_exactly_when_the_change_is(transactional_db):
    with pytest.raises(RuntimeError, match="in the transaction of what it tells"):
        put()
    with transaction.atomic():
        put()
        transaction.set_rollback(True)
    assert not OutboxMessage.objects.exists()


def test_one_cause_is_told_to_one_address_once(now):
    assert put(cause="C1 gap 7") is not None
    assert put(cause="C1 gap 7") is None
    assert put(cause="C1 gap 8") is not None
    assert put(cause="C1 gap 7", to="c@b.example") is not None
    assert put() is not None
    assert put() is not None


def test_a_subject_is_one_line(now):
    assert put(subject="a\r\nBcc: x@y.example").subject == "a Bcc: x@y.example"


@pytest.fixture
def no_server(monkeypatch):
    """S1 cannot be sent as long as the list says so."""
    fails = [True]
    right = mail.EmailMessage.send

    def send(message, *args, **values):
        if message.subject == "S1" and fails[0]:
            raise ConnectionRefusedError("no server")
        return right(message, *args, **values)

    monkeypatch.setattr(outbox.EmailMessage, "send", send)
    return fails


def test_a_failure_is_kept_and_holds_up_nobody(now, no_server):
    put(1)
    put(2)
    fault = "ConnectionRefusedError: no server"
    assert sent(now) == [("S1", fault), ("S2", "")]
    kept = OutboxMessage.objects.get(subject="S1")
    assert (kept.tries, kept.fault, kept.sent_at) == (1, fault, None)
    assert sent(now) == []  # not at once again
    no_server[0] = False
    assert sent(now + outbox.FIRST_WAIT) == [("S1", "")]
    kept.refresh_from_db()
    assert (kept.tries, kept.fault) == (2, "")


def test_it_is_tried_later_each_time_and_never_given_up(now, no_server):
    put(1)
    waits = []
    for _ in range(9):
        sent(now)
        due = OutboxMessage.objects.get().next_try_at
        waits.append((due - now) // timedelta(minutes=1))
        now = due
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60, 60]


def test_a_sender_that_died_is_replaced(now, monkeypatch):
    put()

    def dies(*args):
        raise SystemExit

    with monkeypatch.context() as patch:
        patch.setattr(outbox, "_send", dies)
        with pytest.raises(SystemExit):
            sent(now)
    assert sent(now) == []  # it may be sending yet
    assert sent(now + outbox.BEING_SENT) == [("S1", "")]


def test_two_senders_do_not_send_the_same(now):
    """The second read the row before the first claimed it."""
    put()
    first = send_outbox(now=now, sender="s@b.example")
    second = send_outbox(now=now, sender="s@b.example")
    message = OutboxMessage.objects.get()
    assert outbox._claim(message, now)
    assert not outbox._claim(message, now)
    assert [list(first), list(second)] == [[], []]


class TestCommand:
    def test_tells_what_it_sent(self, db, settings):
        settings.EMAIL_HOST = "mail.example"
        put()
        out = StringIO()
        OutboxMessage.objects.update(next_try_at=timezone.now() - timedelta(minutes=1))
        call_command("send_outbox", stdout=out)
        assert out.getvalue() == "alert to a@b.example: S1: sent\n"

    def test_fails_where_one_could_not_be_sent(self, db, settings, no_server):
        settings.EMAIL_HOST = "mail.example"
        put()
        OutboxMessage.objects.update(next_try_at=timezone.now() - timedelta(minutes=1))
        with pytest.raises(CommandError, match="1 could not be sent, and will be tried again"):
            call_command("send_outbox", stdout=StringIO())

    def test_without_a_server_nothing_is_called_sent(self, db, settings):
        settings.EMAIL_HOST = ""
        put()
        with pytest.raises(CommandError, match="set MUSTER_MAIL_HOST"):
            call_command("send_outbox")
        assert OutboxMessage.objects.get().sent_at is None
