"""Many boxes at once: each with its first movement, however many statements they take."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from implants.models import Unit
from implants.operations import arrivals
from tests import factories
from tests.factories import NOW
from tests.implants.labels import stem


@pytest.mark.parametrize("number", [1, 2, 5])
def test_each_box_has_one_first_movement_over_the_ends_of_the_batches(
    coordinator, site, monkeypatch, number
):
    monkeypatch.setattr(arrivals, "BATCH", 2)
    implant = stem(site)
    units = [
        Unit(site=site, implant=implant, code=f"S{n}", lot="L1", expiry=date(2031, 12, 31))
        for n in range(number)
    ]
    units[-1].hold = "wet"
    arrivals.enter_units(units=units, by=coordinator, now=NOW)
    entered = {unit.code: unit for unit in Unit.objects.prefetch_related("movements")}
    assert len(entered) == number
    assert all(unit.movements.count() == 1 for unit in entered.values())
    assert entered[f"S{number - 1}"].state == "quarantine"
    assert [entered[f"S{n}"].state for n in range(number - 1)] == ["on the shelf"] * (number - 1)


def test_a_code_that_is_taken_brings_none_of_them(coordinator, site, monkeypatch):
    monkeypatch.setattr(arrivals, "BATCH", 2)
    implant = stem(site)
    factories.unit(implant, "S4")
    units = [
        Unit(
            site=site,
            implant=implant,
            code=f"S{n}",
            does_not_expire=True,
            expected_at=NOW + timedelta(days=1),
        )
        for n in range(5)
    ]
    with pytest.raises(IntegrityError), transaction.atomic():
        arrivals.enter_units(units=units, by=coordinator, now=NOW)
    assert Unit.objects.count() == 1
