"""Every rule that the database keeps as a trigger: it refuses what it should, and without it the
same write is done.  A rule whose absence changes nothing proves nothing."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.db import IntegrityError, connection, transaction

from deploy.kit import guards
from deploy.kit.guards import Guard
from tests.negative_controls import of_ledgers, of_loads, of_promises, of_security, of_theatre
from tests.negative_controls.house import House, house
from tests.proof.figures import Figures

CONTROLS: dict[str, Callable[[House], None]] = {
    **dict(of_ledgers.controls()),
    **of_promises.CONTROLS,
    **of_security.CONTROLS,
    **of_theatre.CONTROLS,
    **of_loads.CONTROLS,
}


@pytest.fixture
def rows(site, coordinator, manager) -> House:
    made = house(site, coordinator, manager)
    settle()
    return made


def settle() -> None:
    """PostgreSQL takes no trigger away from a table with checks that wait for the commit."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


def kept() -> dict[str, Guard]:
    return {each.name: each for each in guards.kept(connection.vendor) if isinstance(each, Guard)}


@pytest.mark.django_db
def test_every_rule_has_its_control() -> None:
    """...and a control without a rule is one of the other database's."""
    elsewhere = {
        each.name
        for vendor in ("sqlite", "postgresql")
        for each in guards.kept(vendor)
        if isinstance(each, Guard) and each.only not in (None, connection.vendor)
    }
    assert set(CONTROLS) - elsewhere == set(kept())


@pytest.mark.parametrize("name", [name for name in CONTROLS if name in kept()])
def test_it_refuses_and_without_it_the_same_is_done(
    name: str, rows: House, figures: Figures
) -> None:
    guard = kept()[name]
    with pytest.raises(IntegrityError, match=guard.says), transaction.atomic():
        CONTROLS[name](rows)
    settle()
    guards.lift(connection, [name])
    CONTROLS[name](rows)
    figures("Negative controls", rules=1, refused_with=1, done_without=1)
    assert guards.faults(connection) == [
        f"{guard.table}: the database does not keep the rule {name}"
    ]
