"""The demonstration's record of planned against used: the stems of the two years before.

Sizes are drawn, and come out the same every time: mostly as planned, sometimes one more or less.
"""

from __future__ import annotations

import random
from itertools import cycle

from django.db import transaction

from deploy.kit.models import Site
from implants.models import Implant, Unit
from implants.states import UnitState
from scheduling.models import Case, CaseStatus, SizeUsed, Surgeon

SEED = 41
STEPS = {0: 55, 1: 22, -1: 15, 2: 5, -2: 3}
"""Used − planned, in sizes → how often, of a hundred."""
MINUTES = 150


@transaction.atomic
def make_demo_sizes(*, site: Site) -> int:
    """How many cases are on record now.  After `make_demo_orders`, whose uses it goes by."""
    dice = random.Random(SEED)
    sizes = _sizes_by_line(site)
    surgeons = cycle(Surgeon.objects.filter(site=site).order_by("name"))
    used = Unit.objects.filter(site=site, state=UnitState.IMPLANTED, implant__role="stem")
    rows = []
    for unit in used.select_related("implant").order_by("code"):
        entry = unit.movements.select_related("by").get(seq=unit.seq)
        attributes = unit.implant.attributes
        made = sizes[attributes["system"]]
        (step,) = dice.choices(list(STEPS), list(STEPS.values()))
        place = min(max(made.index(attributes["size"]) - step, 0), len(made) - 1)
        case = Case.objects.create(
            site=site,
            ref=unit.case_ref,
            start=entry.at,
            minutes=MINUTES,
            side=dice.choice(("left", "right")),
            surgeon=next(surgeons, None),
            status=CaseStatus.ENDED,
        )
        planned = {"system": attributes["system"], "size": made[place]}
        rows.append(
            SizeUsed(
                case=case,
                role="stem",
                planned=planned,
                used=unit.implant,
                unit=unit,
                at=entry.at,
                by=entry.by,
            )
        )
    SizeUsed.objects.bulk_create(rows)
    return len(rows)


def _sizes_by_line(site: Site) -> dict[str, list[float]]:
    found: dict[str, set[float]] = {}
    for attributes in Implant.objects.filter(site=site, role="stem").values_list(
        "attributes", flat=True
    ):
        found.setdefault(attributes["system"], set()).add(attributes["size"])
    return {system: sorted(sizes) for system, sizes in found.items()}
