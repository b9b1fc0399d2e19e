"""Implants used in the past, as theatre keeps them."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User

from deploy.kit.models import Site
from implants.models import Implant, Unit, UnitMove
from scheduling.models import Case, CaseStatus, HouseSettings, SizeUsed, Surgeon
from tests import factories
from tests.factories import NOW


def least(site: Site, cases: int) -> None:
    HouseSettings.objects.filter(site=site).update(size_risk_least_cases=cases)


def somebody(username: str) -> User:
    return User.objects.get_or_create(username=username)[0]


def used(case: Case, implant: Implant, number: int, **planned: Any) -> Unit:
    """A box of the implant, used in the case, where the plan had a stem of other attributes."""
    unit = factories.unit(implant, f"USED-{number}")
    by = somebody("theatre desk")
    move = UnitMove.objects.get(kind="implant", from_state=unit.state, to_state="implanted")
    unit.movements.create(seq=2, move=move, at=NOW, day=NOW.date(), by=by, case_ref=case.ref)
    unit.refresh_from_db()
    SizeUsed.objects.create(
        case=case, role="stem", planned=planned, used=implant, unit=unit, at=NOW, by=by
    )
    return unit


def past_cases(
    site: Site,
    stems: dict[int, Implant],
    sizes: list[tuple[int, int]],
    surgeon: Surgeon | None,
    *,
    system: str = "A",
) -> None:
    """A case that has ended for each (planned, used)."""
    for number, (planned, size) in enumerate(sizes):
        case = factories.case(site, f"PAST-{number}", surgeon=surgeon, status=CaseStatus.ENDED)
        used(case, stems[size], number, system=system, size=planned)
