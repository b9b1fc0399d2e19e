"""What a confirmation rests on, and whether it still does: rules on values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.coverage.report import Report, Verdict
from scheduling.coverage.values import Scenario
from scheduling.coverage.whatif import rank
from scheduling.gaps import gaps_of


@dataclass(frozen=True, slots=True)
class Basis:
    """What people saw of a case.  `plan`: its number, 0 for none.  `start`: local, in words."""

    plan: int
    start: str
    minutes: int
    theatre: str
    side: str
    verdict: str
    gaps: tuple[str, ...]

    def kept(self) -> dict[str, Any]:
        return asdict(self) | {"gaps": list(self.gaps)}


def basis_kept(data: Mapping[str, Any]) -> Basis:
    """From the JSON that is kept."""
    return Basis(**{**data, "gaps": tuple(data["gaps"])})


def basis_of(scenario: Scenario, report: Report, ref: str, plan: int) -> Basis:
    """As things stand.  KeyError where the report has no such case."""
    case, of_case = scenario.cases[ref], report.case(ref)
    return Basis(
        plan=plan,
        start=_said(case.start.astimezone(ZoneInfo(scenario.site.timezone))),
        minutes=case.minutes,
        theatre=case.theatre,
        side=case.side,
        verdict=of_case.verdict.value,
        gaps=tuple(dict.fromkeys(gap.in_one_line for gap in gaps_of(scenario, of_case))),
    )


def what_changed(then: Basis, now: Basis) -> tuple[str, ...]:
    """Everything material, in sentences; none where a confirmation still stands.

    A better verdict and a gap that is gone are good news: what was confirmed still holds.
    """
    said = []
    if then.plan != now.plan:
        said.append(f"Plan version {now.plan} is in force; it was version {then.plan}.")
    if then.start != now.start:
        said.append(f"It starts {now.start}; it was {then.start}.")
    if then.minutes != now.minutes:
        said.append(f"It takes {now.minutes} min; it was {then.minutes}.")
    if then.theatre != now.theatre:
        said.append(f"It is in {now.theatre or 'no theatre'}; it was {then.theatre or 'in none'}.")
    if then.side != now.side:
        said.append(f"The side is {now.side or 'not said'}; it was {then.side or 'not said'}.")
    if rank(Verdict(now.verdict)) > rank(Verdict(then.verdict)):
        said.append(f"The verdict is {now.verdict}; it was {then.verdict}.")
    said += [f"New: {gap}" for gap in now.gaps if gap not in then.gaps]
    return tuple(said)


def is_about_cover(then: Basis, now: Basis) -> bool:
    """Whether nothing has changed but what is held for the case."""
    return replace(then, verdict=now.verdict, gaps=now.gaps) == now


def differs(then: Basis, now: Basis) -> bool:
    """Whether there is anything to see that was not there at the last look; good news too."""
    return then != now


def _said(moment: datetime) -> str:
    return f"{moment:%H:%M on %a} {moment.day} {moment:%b %Y}"
