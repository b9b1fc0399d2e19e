"""The implant part against scipy's matching, and against a count of the stock by size."""

from __future__ import annotations

from collections import defaultdict

import pandas as pd
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from scheduling.coverage.clock import Clock
from scheduling.coverage.engine import decide
from scheduling.coverage.implant_claims import Eligibility, Wanted, claim_item, shelf_order
from scheduling.coverage.precedence import by_precedence
from scheduling.coverage.report import Report
from scheduling.coverage.values import Need, Scenario, Unit
from tests.benchmarks.generators import FORTNIGHT, SCARCE_FORTNIGHT, many_cases, site
from tests.benchmarks.timing import timed

Problem = tuple[list[Unit], list[Wanted]]


def problems(scenario: Scenario, report: Report) -> list[Problem]:
    """Item by item: its boxes, and the cases that want it as planned or contingency."""
    units: dict[str, list[Unit]] = defaultdict(list)
    for unit in sorted(scenario.shelf.values(), key=shelf_order):
        units[unit.implant].append(unit)
    wanted: dict[str, list[Wanted]] = defaultdict(list)
    for need in Need:
        for case in sorted(scenario.cases.values(), key=by_precedence):
            for line in report.case(case.ref).lines:
                if line.need is need and line.item in scenario.implants:
                    wanted[line.item].append((case, need, line.quantity))
    return [(units[item], wanted[item]) for item in sorted(wanted)]


def served_by_engine(clock: Clock, drawn: list[Problem]) -> int:
    results = (claim_item(clock, units, wanted) for units, wanted in drawn)
    return sum(len(line.held) for result in results for line in result.lines)


def served_by_scipy(clock: Clock, drawn: list[Problem]) -> int:
    """As many claims as can be served from the shelf at all, whoever they belong to."""
    eligible, served = Eligibility(clock), 0
    for units, wanted in drawn:
        rows = []
        for case, _, quantity in wanted:
            times = clock.times(case)
            boxes = [
                place for place, unit in enumerate(units) if eligible.on_shelf(unit, times.last_day)
            ]
            rows += [boxes] * quantity
        if units and rows:
            starts = [0]
            for boxes in rows:
                starts.append(starts[-1] + len(boxes))
            columns = [box for boxes in rows for box in boxes]
            graph = csr_array(([1] * len(columns), columns, starts), shape=(len(rows), len(units)))
            served += int((maximum_bipartite_matching(graph, perm_type="column") >= 0).sum())
    return served


def counted_by_size(scenario: Scenario, report: Report) -> set[str]:
    """The cases that a count of the stock by size calls covered: of each size that the case
    wants, there are as many boxes as it wants."""
    stock = pd.DataFrame(
        [{"item": unit.implant} for unit in scenario.shelf.values() if not unit.hold]
    )
    wanted = pd.DataFrame(
        [
            {"case": case.case, "item": line.item, "quantity": line.quantity}
            for case in report.cases
            for line in case.lines
            if line.item in scenario.implants and line.need is not Need.SPARE
        ]
    )
    of_each = wanted.groupby(["case", "item"], as_index=False)["quantity"].sum()
    there = stock.groupby("item").size().rename("there").reset_index()
    joined = of_each.merge(there, on="item", how="left").fillna({"there": 0})
    enough = (joined["there"] >= joined["quantity"]).groupby(joined["case"]).all()
    return set(enough.index[enough])


def really_covered(scenario: Scenario, report: Report) -> set[str]:
    return {
        case.case
        for case in report.cases
        if all(
            line.is_held
            for line in case.lines
            if line.item in scenario.implants and line.need is not Need.SPARE
        )
    }


def run() -> None:
    for name, size in (("fortnight", FORTNIGHT), ("500 cases", many_cases(200))):
        scenario = site(1, size)
        drawn, clock = problems(scenario, decide(scenario)), Clock(scenario.site)
        ours, served = timed(lambda c=clock, d=drawn: served_by_engine(c, d), 3)
        theirs, most = timed(lambda c=clock, d=drawn: served_by_scipy(c, d), 3)
        assert served == most, "claims in order serve fewer than could be served"
        print(
            f"boxes, {name}: {served} claims held, scipy's matching as many; "
            f"{ours * 1000:.0f} ms with all rights kept, scipy {theirs * 1000:.0f} ms "
            f"without any: {ours / theirs:.1f} times"
        )
    for name, size in (("plenty", FORTNIGHT), ("scarce", SCARCE_FORTNIGHT)):
        wrong = falsely = cases = 0
        for seed in range(5):
            scenario = site(seed, size)
            report = decide(scenario)
            said, true = counted_by_size(scenario, report), really_covered(scenario, report)
            wrong, falsely = wrong + len(said ^ true), falsely + len(said - true)
            cases += len(report.cases)
        print(
            f"counting stock by size, {name}: {wrong} of {cases} cases wrong, "
            f"{falsely} of them called covered that are not"
        )
