"""A box goes on hold while somebody promises it: whoever commits first decides."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Event

import pytest
from django.db import IntegrityError, connection, transaction

from deploy.kit import guards
from deploy.kit.guards import Guard
from implants.models import Unit
from scheduling.models import Case, UnitReservation
from tests import factories

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def unit(site) -> Unit:
    return factories.unit(factories.implant(site))


@pytest.fixture
def case(site) -> Case:
    return factories.case(site)


@pytest.fixture
def elsewhere() -> Iterator[ThreadPoolExecutor]:
    with ThreadPoolExecutor(1) as pool:
        yield pool
        pool.submit(lambda: connection.close()).result()


def test_a_promise_waits_for_the_hold_and_is_refused(unit, case, elsewhere):
    begun = Event()

    def promise() -> None:
        begun.set()
        factories.promised_unit(case, unit)

    with transaction.atomic():
        factories.held(unit, "dropped")
        promised = elsewhere.submit(promise)
        begun.wait()
    with pytest.raises(IntegrityError, match="on hold or gone"):
        promised.result()
    assert not UnitReservation.objects.exists()


def test_without_the_lock_it_slips_through_where_writers_do_not_wait(unit, case, elsewhere):
    """The control: PostgreSQL then looks at the box as it was.  SQLite has one writer, which no
    rule of ours can take away: there the promise is refused all the same."""
    with connection.cursor() as cursor:
        for each in guards.kept(connection.vendor):
            if isinstance(each, Guard) and each.table == "scheduling_unitreservation":
                for statement in guards.replacing(replace(each, lock=""), connection.vendor):
                    cursor.execute(statement)
    with transaction.atomic():
        factories.held(unit, "dropped")
        promised = elsewhere.submit(factories.promised_unit, case, unit)
        if connection.vendor == "postgresql":
            promised.result()  # done while the hold is not committed yet
    slipped_through = connection.vendor == "postgresql"
    assert isinstance(promised.exception(), IntegrityError) is not slipped_through
    assert UnitReservation.objects.exists() is slipped_through
