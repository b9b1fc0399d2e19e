"""Sharing: a short contingency may lean on a box that is another case's contingency.

Only what nobody is expected to use may be lent: every claim that the box serves, or that already
leans on it, is a contingency of another case, and either a replacement of each use would be here
in time, or each of those cases has returned the box in time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.coverage.clock import Clock
from scheduling.coverage.implant_claims import CaseItem, Eligibility
from scheduling.coverage.precedence import by_time
from scheduling.coverage.values import Case, Implant, Need, Unit


@dataclass(frozen=True, slots=True)
class Leaning:
    """`unit` serves `owner` first.  `replaced`: a use of it would be replaced in time."""

    line: CaseItem
    unit: str
    owner: str
    replaced: bool


def share(
    clock: Clock, implant: Implant, units: Sequence[Unit], lines: Sequence[CaseItem]
) -> list[Leaning]:
    """Let the short contingency claims of one item lean, in time order.

    `units` in shelf order, `lines` as the claims left them; `short` of the lines is lowered by
    the caller.
    """
    by_code = {unit.code: unit for unit in units}
    leaning_on: dict[str, list[Case]] = defaultdict(list)
    for line in lines:
        if line.need is Need.CONTINGENCY:
            for code in line.held:
                if by_code[code].arrives is None:
                    leaning_on[code].append(line.case)
    found: list[Leaning] = []
    short = [line for line in lines if line.need is Need.CONTINGENCY and line.short]
    for line in sorted(short, key=lambda line: by_time(line.case)):
        for _ in range(line.short):
            lent = _best(clock, implant, units, leaning_on, line.case)
            if lent is None:
                break
            code, replaced = lent
            found.append(Leaning(line, code, leaning_on[code][0].ref, replaced))
            leaning_on[code].append(line.case)
    return found


def _best(
    clock: Clock,
    implant: Implant,
    units: Sequence[Unit],
    leaning_on: dict[str, list[Case]],
    borrower: Case,
) -> tuple[str, bool] | None:
    """The box to lean on, and whether its use would be replaced: such a one first, then the
    first expiring, then by code."""
    day, needed_by = clock.last_day(borrower), clock.needed_by(borrower)
    returned: str | None = None
    for unit in units:
        users = leaning_on.get(unit.code)
        if (
            not users
            or any(user.ref == borrower.ref for user in users)
            or not Eligibility.in_date(unit, day)
        ):
            continue
        if (
            implant.replaced_on_use
            and implant.lead_days is not None
            and all(
                clock.delivery(clock.out(user), implant.lead_days) <= needed_by for user in users
            )
        ):
            return unit.code, True
        if returned is None and all(clock.returned(user) <= needed_by for user in users):
            returned = unit.code
    return None if returned is None else (returned, False)
