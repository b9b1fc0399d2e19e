"""No account by default: the first administrator comes from the machine itself, by a code."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone

from deploy.kit.first_run import CodeNotGood, make_administrator, use_code
from deploy.kit.models import OneTimeCode, Person, SecurityEvent
from deploy.kit.role_change import roles_of
from deploy.kit.throttle import TooManyTries
from tests.factories import NOW, PASSWORD

DAY = timedelta(hours=24)


@pytest.fixture
def code(db) -> str:
    return make_administrator(username="first", site=None, now=NOW)


def use(code: str, password: str = PASSWORD, now=NOW) -> User:
    return use_code(code=code, password=password, address="10.0.0.1", now=now)


def test_a_fresh_installation_has_no_account(db):
    assert not User.objects.exists()


def test_the_account_can_not_log_in_before_the_code_is_used(code):
    user = User.objects.get()
    assert (user.has_usable_password(), user.is_staff, user.is_superuser) == (False, True, False)
    assert roles_of(user) == ["administrator"]


def test_the_code_sets_the_password_once(code):
    assert use(code).check_password(PASSWORD)
    with pytest.raises(CodeNotGood):
        use(code, "another good password")
    assert User.objects.get().check_password(PASSWORD)


@pytest.mark.parametrize("typed", [str.lower, lambda code: code.replace("-", " "), str.strip])
def test_the_code_is_read_as_people_type_it(typed, code):
    use(typed(code))


def test_the_code_is_good_for_a_day(code):
    with pytest.raises(CodeNotGood):
        use(code, now=NOW + DAY)
    use(code, now=NOW + DAY - timedelta(seconds=1))


def test_the_code_itself_is_kept_nowhere(code):
    kept = OneTimeCode.objects.get()
    assert code not in str(vars(kept))
    assert len(kept.code_hash) == 64


def test_a_weak_password_leaves_the_code_good(code):
    with pytest.raises(ValidationError, match="too common"):
        use(code, "password")
    use(code)


def test_codes_can_not_be_guessed_for_long(code):
    for _ in range(5):
        with pytest.raises(CodeNotGood):
            use("AAAAA-AAAAA-AAAAA-AAAAA")
    with pytest.raises(TooManyTries):
        use(code)


def test_a_second_code_voids_the_first(code):
    again = make_administrator(username="first", site=None, now=NOW)
    with pytest.raises(CodeNotGood):
        use(code)
    use(again)


def test_the_command_prints_the_code_and_gives_the_place_of_work(site, capsys):
    call_command("make_administrator", "first")
    printed = capsys.readouterr().out.split("\n\n")[1].strip()
    assert use(printed, now=timezone.now()).username == "first"
    assert Person.objects.get(user__username="first").site == site


def test_the_command_raises_nobody_else_to_administrator(manager):
    with pytest.raises(CommandError, match="manager has another role"):
        call_command("make_administrator", "manager")
    assert roles_of(manager.user) == ["manager"]


def test_the_page_takes_the_code(code, monkeypatch):
    monkeypatch.setattr("deploy.web_accounts.timezone.now", lambda: NOW)
    browser = Client()
    form = {"code": "nonsense", "new": PASSWORD, "again": PASSWORD}
    assert "This code is not good" in browser.post("/first-run/", form).text
    twice = browser.post("/first-run/", form | {"again": "x"}).text
    assert "not the same" in twice
    assert 'value="nonsense"' in twice  # twenty signs are typed once
    assert PASSWORD not in twice
    answer = browser.post("/first-run/", form | {"code": code})
    assert (answer.status_code, answer.headers["Location"]) == (302, "/log-in/")
    assert browser.login(username="first", password=PASSWORD)
    outcomes = SecurityEvent.objects.filter(what="first run").order_by("pk")
    assert list(outcomes.values_list("outcome", flat=True)) == ["done", "refused", "done"]
