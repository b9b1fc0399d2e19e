"""Which cases come off worse, and whom to ring about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduling.coverage.values import Scenario
from scheduling.coverage.whatif import Difference


@dataclass(frozen=True, slots=True)
class Loss:
    """A case that comes off worse.  `start` is local."""

    case: str
    case_pk: int | None
    before: str
    after: str
    start: datetime
    theatre: str
    surgeon: str


def losses(scenario: Scenario, changed: Difference, pks: Mapping[str, int]) -> tuple[Loss, ...]:
    """By the difference of two decisions, in time order.  `pks` by case reference.  No query."""
    zone = ZoneInfo(scenario.site.timezone)
    found = []
    for ref in changed.worsened:
        difference = changed.case(ref)
        before, after = difference.verdicts if difference else (None, None)
        case = scenario.cases[ref]
        found.append(
            Loss(
                ref,
                pks.get(ref),
                str(before),
                str(after),
                case.start.astimezone(zone),
                case.theatre,
                case.surgeon,
            )
        )
    return tuple(sorted(found, key=lambda loss: (loss.start, loss.case)))
