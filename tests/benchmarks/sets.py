"""The tray part against a full model claim by claim, and against whoever comes first."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import product

from scheduling.coverage.engine import decide
from scheduling.coverage.precedence import by_precedence
from scheduling.coverage.report import Report, Status
from scheduling.coverage.values import Case, Scenario, Tray
from tests.benchmarks.generators import SCARCE_FORTNIGHT, Size, many_cases, site
from tests.benchmarks.timing import timed
from tests.coverage_engine.full_model import FullModel, Wanted

SMALL = Size(cases=30, theatres=3, trays=40, units=600, turnaround=14 * 60, quick=7 * 60)


def served(report: Report) -> int:
    return sum(line.status is not Status.SHORT for case in report.cases for line in case.sets)


def cases_with_all_sets(report: Report) -> int:
    return sum(all(line.status is not Status.SHORT for line in case.sets) for case in report.cases)


def sets_only(scenario: Scenario) -> Scenario:
    """Without reservations, and without rules: what is left is a question of trays alone."""
    return replace(
        scenario,
        techniques={c: replace(t, rules=(), checks=()) for c, t in scenario.techniques.items()},
        cases={ref: replace(case, reserved_trays=()) for ref, case in scenario.cases.items()},
    )


def by_full_model(scenario: Scenario) -> int:
    """Every claim put to the full model: as many sets as are let in."""
    model = FullModel(scenario)
    wanted = {ref: Wanted() for ref in scenario.cases}
    let_in = 0
    for case in sorted(scenario.cases.values(), key=by_precedence):
        for number in range(len(model.needs[case.ref].sets)):
            for status in (Status.HELD, Status.CONDITIONAL):
                sets = {**wanted[case.ref].sets, number: status}
                if model.feasible({**wanted, case.ref: Wanted(sets)}):
                    wanted[case.ref] = Wanted(sets)
                    let_in += 1
                    break
    return let_in


def first_fit(scenario: Scenario) -> tuple[int, int]:
    """First come, first served: the first trays that are free, for good.  How many sets are
    served, and how many cases have all of theirs."""
    model = FullModel(scenario)
    uses: dict[str, list[Case]] = defaultdict(list)

    def free(tray: Tray, case: Case, status: Status) -> bool:
        used = uses[tray.code]
        earlier = [other for other in used if (other.start, other.ref) < (case.start, case.ref)]
        later = [other for other in used if (other.start, other.ref) > (case.start, case.ref)]
        if earlier:
            if not all(model.follows(tray, other, case, status) for other in earlier):
                return False
        elif not model.may_be_first(tray, case, status):
            return False
        return all(model.follows(tray, case, other, Status.HELD) for other in later)

    let_in = whole = 0
    for case in sorted(scenario.cases.values(), key=by_precedence):
        asked = model.needs[case.ref].sets
        got = 0
        for status_options in asked:
            for status, option in product(
                (Status.HELD, Status.CONDITIONAL), status_options.options
            ):
                found = [
                    next((t for t in model.trays[code] if free(t, case, status)), None)
                    for code in option
                ]
                if all(tray is not None for tray in found):
                    for tray in found:
                        assert tray is not None
                        uses[tray.code].append(case)
                    got += 1
                    break
        let_in += got
        whole += got == len(asked)
    return let_in, whole


def run() -> None:
    for seed in range(3):
        scenario = sets_only(site(seed, SMALL))
        ours, report = timed(lambda s=scenario: decide(s), 3)
        theirs, let_in = timed(lambda s=scenario: by_full_model(s))
        assert served(report) == let_in, "the full model lets in other claims"
        print(
            f"sets, 30 cases over 40 trays: {let_in} served by both; engine {ours * 1000:.0f} ms, "
            f"full model claim by claim {theirs * 1000:.0f} ms: {theirs / ours:.0f} times"
        )
    for name, size in (
        ("scarce fortnight", SCARCE_FORTNIGHT),
        ("500 cases, 150 trays", many_cases(150)),
        ("500 cases, 90 trays", many_cases(90)),
    ):
        scenario = sets_only(site(1, size))
        seconds, report = timed(lambda s=scenario: decide(s))
        sets, cases = first_fit(scenario)
        print(
            f"first come, first served, {name}: {sets} sets and {cases} whole cases; engine "
            f"{served(report)} and {cases_with_all_sets(report)}, {seconds:.2f} s"
        )
