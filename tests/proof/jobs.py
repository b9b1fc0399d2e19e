"""What the workers of a crew do: the operations of the house, one transaction each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import partial
from typing import Any

from django.db import IntegrityError, OperationalError

from deploy.kit.errors import Refused
from deploy.kit.models import Person
from implants.models import Unit
from scheduling.models import Case, UnitReservation
from scheduling.operations.reservations import reserve_unit
from tests.factories import NOW


def outcome_of(act: Callable[[], Any]) -> str:
    """`ok`, `refused`, or what should not have happened."""
    try:
        act()
    except Refused:
        return "refused"
    except IntegrityError:
        return "refused by the database"
    except OperationalError as error:
        return f"gave up: {error}"
    return "ok"


def reserve_every_box(*, number: int) -> dict[str, int]:
    """Try to have every box for the worker's own case, all workers in one order."""
    case = Case.objects.get(ref=f"C{number}")
    by = Person.objects.select_related("user", "site").get(user__username="coordinator")
    outcomes: Counter[str] = Counter()
    for unit in Unit.objects.order_by("pk"):
        reserve = partial(reserve_unit, case=case, unit=unit, by=by, now=NOW)
        outcomes[outcome_of(reserve)] += 1
    return outcomes


def check_then_insert(*, number: int) -> dict[str, int]:
    """The control: the same without a lock, and without the database's rule."""
    case = Case.objects.get(ref=f"C{number}")
    outcomes: Counter[str] = Counter()
    for unit in Unit.objects.order_by("pk"):
        if UnitReservation.objects.filter(unit=unit, freed_at=None).exists():
            outcomes["refused"] += 1
        else:
            UnitReservation.objects.create(case=case, unit=unit, at=NOW, used_on=NOW.date())
            outcomes["ok"] += 1
    return outcomes
