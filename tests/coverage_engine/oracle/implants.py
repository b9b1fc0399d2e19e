"""Implant claims by exhaustive search, the first-expiring assignment, and sharing."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from tests.coverage_engine.oracle.clock import Clock
from tests.coverage_engine.oracle.needs import Needs

Entry = dict[str, Any]
LEVELS = ("planned", "contingency", "spare")


@dataclass
class Claim:
    case: Entry
    level: str
    status: str = "short"
    allowed: list[str] = field(default_factory=list)
    unit: str | None = None
    leans_on: tuple[str, str] | None = None


def use_by(unit: Entry) -> date:
    """The last day on which a unit may be used; the end of time if it does not expire."""
    text = unit["expiry"]
    if text is None:
        return date.max
    if len(text) == 7:
        first = date.fromisoformat(text + "-01")
        return (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
    return date.fromisoformat(text)


def can_serve(clock: Clock, unit: Entry, case: Entry) -> bool:
    if unit.get("hold"):
        return False
    if "arrives" in unit:
        arrives = clock.moment(unit["arrives"])
        if not clock.now <= arrives <= clock.needed_by(case):
            return False
    return use_by(unit) >= clock.local(clock.end(case)).date()


def all_servable(claims: list[Claim], taken: frozenset[str] = frozenset()) -> bool:
    """Whether every claim can have a unit of its own among those it allows: try them all."""
    if not claims:
        return True
    first, rest = claims[0], claims[1:]
    return any(all_servable(rest, taken | {code}) for code in first.allowed if code not in taken)


def claims_of_item(
    clock: Clock,
    item: Entry,
    supplier: Entry | None,
    units: dict[str, Entry],
    precedence: list[Entry],
    needs: dict[str, Needs],
) -> tuple[list[Claim], list[tuple[str, str]]]:
    """The claims for one catalogue item, decided, and the reservations not honoured."""
    left = {
        (case["ref"], level): getattr(needs[case["ref"]], level).get(item["ref"], 0)
        for case in precedence
        for level in LEVELS
    }
    honoured: list[Claim] = []
    refused: list[Claim] = []
    reported: list[tuple[str, str]] = []
    for case in precedence:
        for code in sorted(case.get("reserved_units", [])):
            if code not in units:
                continue
            level = next((each for each in LEVELS if left[case["ref"], each]), None)
            if level is None:  # no need left: it claims nothing, the unit is free
                continue
            claim = Claim(case, level, "reserved", [code])
            if can_serve(clock, units[code], case) and all_servable([*honoured, claim]):
                claim.status = "conditional" if "arrives" in units[code] else "held"
                honoured.append(claim)
                left[case["ref"], level] -= 1
            else:
                reported.append((case["ref"], code))
    for level in LEVELS:
        for case in precedence:
            for _ in range(left[case["ref"], level]):
                claim = Claim(case, level)
                good = [code for code in sorted(units) if can_serve(clock, units[code], case)]
                on_shelf = [code for code in good if "arrives" not in units[code]]
                for status, allowed in (("held", on_shelf), ("conditional", good)):
                    claim.allowed = allowed
                    if all_servable([*honoured, claim]):
                        claim.status = status
                        honoured.append(claim)
                        break
                else:
                    claim.status = "short"
                    refused.append(claim)
    assign(clock, units, honoured)
    share(clock, item, supplier, units, honoured, refused)
    return honoured + refused, reported


def time_key(clock: Clock, case: Entry) -> tuple[Any, str]:
    return clock.start(case), case["ref"]


def assign(clock: Clock, units: dict[str, Entry], honoured: list[Claim]) -> None:
    """First expiring, first out, with look-ahead."""
    waiting = sorted(honoured, key=lambda c: (*time_key(clock, c.case), LEVELS.index(c.level)))
    taken: frozenset[str] = frozenset()
    while waiting:
        claim = waiting.pop(0)
        for code in sorted(claim.allowed, key=lambda code: (use_by(units[code]), code)):
            if code not in taken and all_servable(waiting, taken | {code}):
                claim.unit = code
                taken |= {code}
                break
        else:
            raise AssertionError("an honoured claim cannot be served")


def share(
    clock: Clock,
    item: Entry,
    supplier: Entry | None,
    units: dict[str, Entry],
    honoured: list[Claim],
    refused: list[Claim],
) -> None:
    """Short contingency claims lean on contingency units of other cases, in time order."""
    for claim in sorted(refused, key=lambda c: time_key(clock, c.case)):
        if claim.level != "contingency":
            continue
        by = clock.needed_by(claim.case)
        candidates = []
        for code, unit in units.items():
            if "arrives" in unit or not can_serve(clock, unit, claim.case):
                continue
            serves = [c for c in honoured if c.unit == code]
            leaning = [c for c in refused if c.leans_on is not None and c.leans_on[0] == code]
            if not serves or any(
                c.level != "contingency" or c.case["ref"] == claim.case["ref"]
                for c in serves + leaning
            ):
                continue
            others = [c.case for c in serves + leaning]
            lead = item.get("lead_days")
            replaced = (
                item.get("replaced_on_use", False)
                and lead is not None
                and all(clock.delivered(clock.out(case), lead, supplier) <= by for case in others)
            )
            returned = all(clock.returned(case) <= by for case in others)
            if replaced or returned:
                rank = 0 if replaced else 1
                candidates.append((rank, use_by(unit), code, serves[0].case["ref"]))
        if candidates:
            rank, _, code, server = min(candidates)
            claim.leans_on = (code, server)
            claim.status = "shared" if rank else "held"
