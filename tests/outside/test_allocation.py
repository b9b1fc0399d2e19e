"""Who gets an implant, held against a general-purpose library on random pools of one item.

Sources:
- scipy.sparse.csgraph.maximum_bipartite_matching (SciPy, a general-purpose library): the largest
  number of cases that can each have a unit of their own.  Any exact matching gives that number.
- J. Edmonds and D. R. Fulkerson, 1965 (transversal matroids): taking claims in order, each one that
  can still be served beside those already taken, serves the largest number, and serves a claim
  exactly when it raises the size of the largest matching of the claims up to it.
- P. Hall, 1935: a claim is refused only if some cases, its own among them, want fewer units
  than they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import combinations
from random import Random

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching

from scheduling.coverage.engine import decide
from scheduling.coverage.values import (
    Case,
    Component,
    Implant,
    Priority,
    Scenario,
    Site,
    Technique,
    Unit,
)

POOLS = 500
NOW = datetime(2026, 3, 2, 6, tzinfo=UTC)
NEEDED_BEFORE = timedelta(minutes=60)


@dataclass(frozen=True)
class Pool:
    """Cases that each want one unit of the same implant, in the order of their claims."""

    cases: list[Case]
    units: list[Unit]

    def can_serve(self, unit: Unit, case: Case) -> bool:
        if unit.hold or (unit.arrives and not NOW <= unit.arrives <= case.start - NEEDED_BEFORE):
            return False
        end = case.start + timedelta(minutes=case.minutes)
        return unit.expiry is None or unit.expiry >= end.date()

    def most(self, cases: list[Case], units: list[Unit]) -> int:
        """The size of the largest matching, by the library."""
        if not cases or not units:
            return 0
        edges = np.array([[self.can_serve(unit, case) for unit in units] for case in cases])
        matched = maximum_bipartite_matching(csr_matrix(edges), perm_type="column")
        return int((matched >= 0).sum())

    def in_order(self, cases: list[Case], units: list[Unit]) -> set[str]:
        """The cases that raise the size of the largest matching, taken one after the other."""
        sizes = [self.most(cases[:count], units) for count in range(len(cases) + 1)]
        return {case.ref for n, case in enumerate(cases) if sizes[n + 1] > sizes[n]}

    def decided(self) -> dict[str, str]:
        """What the engine makes of each case's one planned unit."""
        scenario = Scenario(
            site=Site("Ottermere General Hospital", "UTC", NOW),
            instruments={},
            implants={"STEM": Implant("STEM", "stem")},
            configurations={},
            trays={},
            shelf={unit.code: unit for unit in self.units},
            techniques={"T": Technique("T")},
            cases={case.ref: case for case in self.cases},
        )
        lines = {told.case: told.lines[0] for told in decide(scenario).cases}
        return {
            ref: "held" if line.held else "on order" if line.conditional else "short"
            for ref, line in lines.items()
        }


def pool(seed: int, *, deliveries: bool) -> Pool:
    rng = Random(seed)
    cases = [
        Case(
            ref=f"C{number:02}",
            technique="T",
            start=NOW + timedelta(hours=rng.randint(2, 240)),
            minutes=rng.choice((60, 180, 600)),
            priority=rng.choice(list(Priority)),
            components={"stem": Component({})},
        )
        for number in range(rng.randint(1, 12))
    ]
    units = [
        Unit(
            code=f"U{number:02}",
            implant="STEM",
            expiry=rng.choice((None, *[date(2026, 3, day) for day in range(1, 14)])),
            arrives=NOW + timedelta(hours=rng.randint(-5, 200))
            if deliveries and rng.random() < 0.5
            else None,
            hold="quarantined" if rng.random() < 0.1 else "",
        )
        for number in range(rng.randint(0, 12))
    ]
    ranks = list(Priority)
    cases.sort(key=lambda case: (ranks.index(case.priority), case.start, case.ref))
    return Pool(cases, units)


def refs(decided: dict[str, str], state: str) -> set[str]:
    return {ref for ref, each in decided.items() if each == state}


@pytest.mark.parametrize("block", range(5))
def test_as_many_cases_are_served_as_the_largest_matching(block: int) -> None:
    for seed in range(block, POOLS, 5):
        drawn = pool(seed, deliveries=False)
        decided = drawn.decided()
        held = refs(decided, "held")
        assert len(held) == drawn.most(drawn.cases, drawn.units), seed
        assert held == drawn.in_order(drawn.cases, drawn.units), seed
        assert refs(decided, "on order") == set(), seed


@pytest.mark.parametrize("block", range(5))
def test_what_the_shelf_refuses_is_served_by_deliveries_in_order(block: int) -> None:
    for seed in range(block, POOLS, 5):
        drawn = pool(seed, deliveries=True)
        on_shelf = [unit for unit in drawn.units if unit.arrives is None]
        on_order = [unit for unit in drawn.units if unit.arrives is not None]
        decided = drawn.decided()
        held = refs(decided, "held")
        assert held == drawn.in_order(drawn.cases, on_shelf), seed
        rest = [case for case in drawn.cases if case.ref not in held]
        assert refs(decided, "on order") == drawn.in_order(rest, on_order), seed


def test_a_refused_case_is_among_cases_that_want_fewer_units_than_they_are() -> None:
    """Found by looking at every group of cases, in pools small enough for that."""
    refused = 0
    for seed in range(100):
        drawn = pool(seed, deliveries=False)
        if len(drawn.cases) > 7:
            continue
        decided = drawn.decided()
        for case in drawn.cases:
            if decided[case.ref] == "short":
                refused += 1
                served = [other for other in drawn.cases if decided[other.ref] == "held"]
                assert any(
                    len({u.code for u in drawn.units for c in group if drawn.can_serve(u, c)})
                    < len(group)
                    for size in range(len(served) + 1)
                    for others in combinations(served, size)
                    for group in [[case, *others]]
                ), (seed, case.ref)
    assert refused > 50
