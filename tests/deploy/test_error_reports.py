"""An error is told of, without what was typed, what was held, or a secret."""

from __future__ import annotations

import logging
import sys
from collections.abc import Callable, Iterator
from io import StringIO
from logging.config import dictConfig
from secrets import token_hex
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.db import IntegrityError
from django.http import HttpRequest
from django.test import Client, RequestFactory
from django.urls import reverse
from django.views.debug import ExceptionReporter

from deploy.kit import log_in_form

TYPED = {"username": "typed-name", "password": "typed-password", "pin": "typed-pin"}


class Broken(Exception):
    pass


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> Iterator[StringIO]:
    """What production writes to its standard error output."""
    root, django = logging.getLogger(), logging.getLogger("django")
    before = root.handlers[:], root.level, django.handlers[:], django.level
    out = StringIO()
    monkeypatch.setattr(sys, "stderr", out)
    dictConfig(settings.LOGGING)
    yield out
    root.handlers[:], django.handlers[:] = before[0], before[2]
    root.setLevel(before[1])
    django.setLevel(before[3])


def breaks(error: Exception) -> Callable[..., Any]:
    def broken(*args: Any, **kwargs: Any) -> Any:
        raise error

    return broken


def test_a_crash_is_written_down_without_what_was_typed(
    db: None, written: StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(log_in_form, "take_try", breaks(Broken("why")))
    answer = Client(raise_request_exception=False).post(f"{reverse('login')}?q=asked", TYPED)
    assert answer.status_code == 500
    told = written.getvalue()
    assert "ERROR django.request: Internal Server Error: /log-in/" in told
    assert "Broken: why" in told
    assert not any(text in told + answer.text for text in (*TYPED.values(), "asked"))


def test_the_row_that_postgresql_tells_of_stays_out(
    db: None, written: StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    refusal = IntegrityError("null value\nDETAIL:  Failing row contains (argon2$hash).\nLINE 1")
    monkeypatch.setattr(log_in_form, "take_try", breaks(refusal))
    Client(raise_request_exception=False).post(reverse("login"), TYPED)
    assert "null value" in written.getvalue()
    assert "argon2$hash" not in written.getvalue()


def test_a_full_report_tells_neither_what_was_typed_nor_what_was_held(rf: RequestFactory) -> None:
    session, held = token_hex(), token_hex()  # a report shows the lines of the program too
    request: HttpRequest = rf.post("/act/", TYPED, headers={"cookie": f"session={session}"})
    try:
        raise Broken(f"{len(held)} letters")
    except Broken:
        reporter = ExceptionReporter(request, *sys.exc_info())
    for report in (reporter.get_traceback_text(), reporter.get_traceback_html()):
        assert "Broken" in report
        secrets = (*TYPED.values(), session, held, settings.SECRET_KEY, settings.MUSTER_HASH_KEY)
        assert [text for text in secrets if text in report] == []


def test_nothing_is_mailed() -> None:
    assert settings.ADMINS == settings.MANAGERS == []


def test_no_account_is_there_by_default(db: None) -> None:
    assert not User.objects.exists()
