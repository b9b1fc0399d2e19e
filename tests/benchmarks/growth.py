"""Engine time against the number of cases, over sites and weeks, and its growth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from pathlib import Path

import matplotlib as mpl

from scheduling.coverage.engine import Decision, decide
from scheduling.coverage.report import Report
from scheduling.coverage.values import Scenario
from tests.benchmarks.generators import ASKING_FORTNIGHT, FORTNIGHT, many_cases, site, sites
from tests.benchmarks.timing import peak_megabytes, timed

mpl.use("Agg")
from matplotlib import pyplot

SITES = (1, 2, 5, 10, 20, 50, 100)
"""Of 100 cases each: 100 to 10,000 cases."""

TRAYS_FOR_500 = (200, 150, 120, 90, 60)


@dataclass(frozen=True)
class Point:
    cases: int
    seconds: float


def gave_up(report: Report) -> int:
    """The claims that a search left undecided."""
    counts = (
        n.values["claims"] for c in report.cases for n in c.notes if n.code == "search gave up"
    )
    return sum(int(str(count)) for count in counts)


def many_sites() -> list[Point]:
    drawn = sites(1, SITES[-1])
    seconds = [timed(lambda scenario=scenario: decide(scenario))[0] for scenario in drawn]
    return [Point(100 * count, sum(seconds[:count])) for count in SITES]


def exponent(points: Sequence[Point]) -> float:
    """Of time in the number of cases: the slope of the line through the logarithms."""
    x, y = [log(p.cases) for p in points], [log(p.seconds) for p in points]
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    above = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True))
    return above / sum((a - mean_x) ** 2 for a in x)


def plot(points: Sequence[Point], to: Path) -> None:
    figure, axes = pyplot.subplots(figsize=(6, 4))
    axes.loglog([p.cases for p in points], [p.seconds for p in points], "ko-")
    axes.set(xlabel="cases", ylabel="seconds on one core", title="Engine time by number of cases")
    axes.grid(visible=True, which="both", linewidth=0.3)
    figure.savefig(to, dpi=120, bbox_inches="tight")
    pyplot.close(figure)


def run(to: Path) -> None:
    fortnight = site(1, FORTNIGHT)
    seconds, report = timed(lambda: decide(fortnight), 20)
    print(f"one site's fortnight, 100 cases: {seconds * 1000:.0f} ms, {gave_up(report)} given up")
    print(f"one change decided again: {one_change(fortnight) * 1000:.1f} ms")
    points = many_sites()
    for point in points:
        print(f"{point.cases:>7} cases over {point.cases // 100:>3} sites: {point.seconds:7.2f} s")
    print(f"time grows as the number of cases to the power of {exponent(points):.2f}")
    largest()
    plot(points, to)
    print(f"plot: {to}")
    for trays in TRAYS_FOR_500:
        scenario = site(1, many_cases(trays))
        seconds, report = timed(lambda scenario=scenario: decide(scenario))
        print(f"500 cases over {trays:>3} trays: {seconds:5.2f} s, {gave_up(report)} given up")


def largest() -> None:
    drawn = sites(1, 20, ASKING_FORTNIGHT)
    units = sum(len(scenario.shelf) for scenario in drawn)
    trays = sum(len(scenario.trays) for scenario in drawn)
    seconds, needs = 0.0, 0
    for scenario in drawn:
        took, report = timed(lambda scenario=scenario: decide(scenario))
        seconds += took
        needs += sum(line.quantity for case in report.cases for line in case.lines)
    print(
        f"2,000 cases over 20 sites, {needs:,} needs, {units:,} units, {trays:,} trays: "
        f"{seconds:.2f} s, at most {peak_megabytes():.0f} MB so far"
    )


def one_change(scenario: Scenario) -> float:
    """One box less on the shelf: the seconds that deciding again takes."""
    before = Decision(scenario)
    code = sorted(scenario.shelf)[len(scenario.shelf) // 2]
    shelf = {key: unit for key, unit in scenario.shelf.items() if key != code}
    changed = Scenario(
        scenario.site,
        scenario.instruments,
        scenario.implants,
        scenario.configurations,
        scenario.trays,
        shelf,
        scenario.techniques,
        scenario.cases,
    )
    return timed(lambda: Decision(changed, before), 5)[0]
