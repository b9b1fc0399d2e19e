"""The same request, one effect: the core that pages and the API share."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from io import StringIO
from threading import Event

import pytest
from django.core.management import call_command
from django.db import IntegrityError, OperationalError, connection, transaction
from django.utils import timezone

from deploy.kit.models import RequestKey
from deploy.kit.requests_once import KEPT, Asked, KeyRefused, current_key, take_once
from implants.ledger import UNITS
from implants.models import UnitMovement
from implants.operations.shelf import put_away
from tests import factories
from tests.factories import NOW
from tests.negative_controls.house import entry, kind


@pytest.fixture
def once(coordinator):
    """Ask for an effect; `once.done` counts how often it was done."""

    def once(key="k1", body=b"b", by=coordinator, answer=None, wait=True):
        def act():
            once.done += 1
            return {"number": once.done} if answer is None else answer()

        return take_once(Asked(by, key, body), act, wait=wait)

    once.done = 0
    return once


def test_a_repeat_gets_the_first_answer_and_changes_nothing(once):
    assert [once(), once()] == [{"number": 1}] * 2
    assert once.done == 1


def test_another_key_is_another_request(once):
    assert [once("k1"), once("k2")] == [{"number": 1}, {"number": 2}]


def test_keys_are_each_persons_own(once, theatre_team):
    assert [once(), once(by=theatre_team)] == [{"number": 1}, {"number": 2}]


def test_a_key_stands_for_one_body_only(once):
    once()
    with pytest.raises(KeyRefused) as refused:
        once(body=b"another")
    assert (refused.value.code, refused.value.status, once.done) == ("key_reused", 422, 1)


def test_what_did_nothing_is_not_kept_and_may_be_asked_again(once):
    def nothing():
        return None

    assert once(answer=nothing) is None
    assert once() == {"number": 2}


def test_key_and_effect_are_there_together_or_not_at_all(once):
    def fails():
        raise ValueError("half-way")

    with pytest.raises(ValueError, match="half-way"):
        once(answer=fails)
    assert not RequestKey.objects.exists()
    assert once() == {"number": 2}


def test_costs_three_queries(once, django_assert_num_queries):
    # The savepoint is two; PostgreSQL claims the key with one more.
    with django_assert_num_queries(4 + (connection.vendor == "postgresql")):
        once()


class TestTheLedger:
    """The database itself refuses the doubled effect of a request on a box."""

    def test_movements_carry_the_key(self, coordinator, once):
        unit = factories.unit(factories.implant(coordinator.site))

        def act():
            assert current_key() == "k7"
            put_away(unit=unit, location="A-1", by=coordinator, now=NOW)
            return {}

        once("k7", answer=act)
        assert current_key() == ""
        assert list(UnitMovement.objects.values_list("request_key", flat=True)) == ["", "k7"]

    def test_the_same_move_twice_for_one_request_is_refused(self, coordinator, once):
        unit = factories.unit(factories.implant(coordinator.site))

        def act():
            for _ in range(2):
                put_away(unit=unit, location="A-1", by=coordinator, now=NOW)
            return {}

        with pytest.raises(IntegrityError):
            once(answer=act)
        assert UnitMovement.objects.count() == 1

    def test_without_a_key_the_same_is_done(self, coordinator, site):
        unit = factories.unit(factories.implant(site))
        for _ in range(2):
            entry(unit, UNITS, coordinator, kind(UNITS, unit, "put away"))
        assert UnitMovement.objects.count() == 3


class TestAtOnce:
    """Two of the same request in the same moment, each in a transaction of its own."""

    @pytest.fixture
    def elsewhere(self, transactional_db):
        with ThreadPoolExecutor(1) as pool:
            yield pool
            pool.submit(lambda: connection.close()).result()

    def test_a_page_waits_for_the_first_and_gets_its_answer(self, elsewhere, once):
        begun = Event()

        def first():
            later.append(elsewhere.submit(second))
            begun.wait()
            return {"from": "the first"}

        def second():
            begun.set()
            return once()

        later = []
        assert once(answer=first) == {"from": "the first"}
        assert later[0].result() == {"from": "the first"}
        assert once.done == 1

    def test_the_api_is_told_that_it_is_still_being_done(self, elsewhere, once):
        """...where more than one writes; SQLite's second waits for its turn to write."""

        def first():
            if connection.vendor == "postgresql":
                elsewhere.submit(once, wait=False).result()
            return {}

        if connection.vendor == "sqlite":
            assert once(answer=first, wait=False) == {}
            return
        with pytest.raises(KeyRefused) as refused:
            once(answer=first)
        assert (refused.value.code, refused.value.status) == ("key_running", 409)


class TestAgain:
    """What the database gave up for reasons of its own is begun again, as a whole."""

    @pytest.fixture
    def deadlock(self):
        error = OperationalError("deadlock detected")
        error.__cause__ = type("Deadlock", (Exception,), {"sqlstate": "40P01"})()
        return error

    def test_a_deadlock_is_tried_three_times_and_done_once(self, transactional_db, once, deadlock):
        def act():
            if once.done < 3:
                raise deadlock
            return {"number": once.done}

        assert once(answer=act) == {"number": 3}
        assert RequestKey.objects.count() == 1

    def test_not_for_ever(self, transactional_db, once, deadlock):
        def act():
            raise deadlock

        with pytest.raises(OperationalError):
            once(answer=act)
        assert once.done == 3

    def test_nothing_else_is_tried_twice(self, transactional_db, once):
        def act():
            raise OperationalError("the server closed the connection")

        with pytest.raises(OperationalError):
            once(answer=act)
        assert once.done == 1

    def test_inside_another_transaction_it_is_tried_once(self, transactional_db, once, deadlock):
        def act():
            raise deadlock

        with pytest.raises(OperationalError), transaction.atomic():
            once(answer=act)
        assert once.done == 1


def test_an_answer_is_kept_as_long_as_anybody_may_ask(coordinator):
    for key, days in (("old", KEPT.days + 1), ("young", KEPT.days - 1)):
        take_once(Asked(coordinator, key, b"x"), lambda: {"done": 1}, wait=True)
        RequestKey.objects.filter(key=key).update(at=timezone.now() - timedelta(days=days))
    call_command("forget_old", stdout=(said := StringIO()))
    assert said.getvalue() == "1 old answers are gone.\n"
    assert list(RequestKey.objects.values_list("key", flat=True)) == ["young"]
