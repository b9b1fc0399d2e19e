"""What the plan had for what is implanted: part of another operation's transaction."""

from __future__ import annotations

from datetime import datetime

from deploy.kit.models import Person
from implants.models import Implant, Unit
from scheduling.models import Case, OutsideBox, SizeUsed
from scheduling.theatre.asking import plan_of


def note_size(
    *,
    case: Case,
    implant: Implant,
    by: Person,
    now: datetime,
    unit: Unit | None = None,
    outside: OutsideBox | None = None,
) -> None:
    """Of the box of the house, or of the one never received here.  Nothing is noted where the plan
    names nothing of the role.  Three queries at most."""
    planned = plan_of(case).components.get(implant.role)
    if planned is None:
        return
    box = {"unit": unit} if unit is not None else {"outside": outside}
    SizeUsed.objects.update_or_create(
        **box,
        defaults={
            "case": case,
            "role": implant.role,
            "planned": {key: _json(value) for key, value in planned.items()},
            "used": implant,
            "at": now,
            "by": by.user,
        },
    )


def _json(value: object) -> object:
    return value if isinstance(value, str | int) else float(str(value))
