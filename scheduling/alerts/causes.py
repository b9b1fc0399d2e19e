"""What interrupts, worked out from what stands.  Pure: values in, causes out."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from scheduling.coverage.report import CaseReport, Verdict
from scheduling.gaps import Gap, Weight

SOON = timedelta(hours=72)
"""A case that starts later than this from now interrupts nobody."""

GOOD = frozenset({Verdict.COVERED, Verdict.NO_SPARE})

STERILE_SERVICES, COORDINATOR, SURGEON = "sterile services", "implant coordinator", "surgeon"
TRAYS = frozenset({Weight.SET_SHORT, Weight.SET_CONDITIONAL})
PLAN = frozenset({Weight.FAULT, Weight.QUESTION})


class AlertKind(StrEnum):
    LOST_COVER = "no longer covered"
    NO_GOOD = "recalled or failed"


@dataclass(frozen=True, slots=True)
class Cause:
    """`key`: the same as long as the cause is.  `to`: the roles that can act; the case's surgeon
    is told besides where there is a case.  `recall`, `load`: the keys of that which it is about."""

    kind: AlertKind
    key: str
    said: str
    to: tuple[str, ...]
    case: str = ""
    recall: int | None = None
    load: int | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """A case as it is now: its report, its gaps, worst first, and its start."""

    report: CaseReport
    gaps: tuple[Gap, ...]
    start: datetime


def lost_cover(
    cases: Iterable[Standing],
    before: Mapping[str, Verdict],
    open_keys: Collection[str],
    now: datetime,
) -> Iterator[Cause]:
    """The cases of the next 72 hours that were covered and are not.

    `before`: the verdict that was seen last, by case.  A cause that is open stays until the case is
    covered, whatever bad verdict it goes through.  A case that never was covered interrupts
    nobody: it stands on the lists.
    """
    for one in cases:
        ref, verdict = one.report.case, one.report.verdict
        key = f"{AlertKind.LOST_COVER}: {ref}"
        if verdict in GOOD or not one.start <= now + SOON:
            continue
        if key in open_keys or before.get(ref) in GOOD:
            worst = f" {one.gaps[0].in_one_line}" if one.gaps else ""
            said = f"Case {ref} was covered and is {verdict.value}.{worst}"
            yield Cause(AlertKind.LOST_COVER, key, said, _who_can_act(one.gaps), ref)


def _who_can_act(gaps: Iterable[Gap]) -> tuple[str, ...]:
    """Trays are sterile services', implants the coordinator's, the plan the surgeon's."""
    weights = {gap.weight for gap in gaps}
    roles = [STERILE_SERVICES] if weights & TRAYS else []
    if weights - TRAYS - PLAN or not weights:
        roles.append(COORDINATOR)
    return tuple(roles)


@dataclass(frozen=True, slots=True)
class HeldItem:
    """A recalled box, or a tray of a failed load, that a case leans on: reserved for it, picked,
    issued or opened.

    `why`: the same for all of one recall or load; `recall`, `load`: its key, where it has one."""

    what: str
    why: str
    cases: tuple[str, ...]
    to: tuple[str, ...]
    recall: int | None = None
    load: int | None = None


def no_good(items: Iterable[HeldItem]) -> Iterator[Cause]:
    """One cause a reason, however many items it holds."""
    by_reason: dict[str, list[HeldItem]] = {}
    for item in items:
        by_reason.setdefault(item.why, []).append(item)
    for why, held in sorted(by_reason.items()):
        said = "; ".join(
            f"{item.what} (case {', '.join(item.cases)})"
            for item in sorted(held, key=lambda item: item.what)
        )
        to = tuple(dict.fromkeys(role for item in held for role in item.to))
        yield Cause(
            AlertKind.NO_GOOD,
            f"{AlertKind.NO_GOOD}: {why}",
            f"{why}: {said}.",
            to,
            recall=held[0].recall,
            load=held[0].load,
        )
