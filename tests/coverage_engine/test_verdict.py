"""The verdict: the first that applies, worst first."""

from __future__ import annotations

from typing import Any

import pytest

from scheduling.coverage.report import Line, SetLine, Status, Verdict
from scheduling.coverage.values import Need
from scheduling.coverage.verdict import verdict_of

HELD_SET = SetLine("femur", Status.HELD)
CONDITIONAL_SET = SetLine("femur", Status.CONDITIONAL)
SHORT_SET = SetLine("femur", Status.SHORT)


def line(
    need: Need, *, held: int = 0, conditional: int = 0, shared: int = 0, short: int = 0
) -> Line:
    quantity = held + conditional + shared + short
    return Line(need, "STEM-12", quantity, held, conditional, shared, short)


def planned(**states: int) -> Line:
    return line(Need.PLANNED, **states)


def contingency(**states: int) -> Line:
    return line(Need.CONTINGENCY, **states)


def spare(**states: int) -> Line:
    return line(Need.SPARE, **states)


ALL_HELD = [planned(held=1), contingency(held=2), spare(held=1)]


def verdict(
    *lines: Line,
    sets: tuple[SetLine, ...] = (HELD_SET,),
    faults: tuple[str, ...] = (),
    questions: tuple[str, ...] = (),
    **undecided: Any,
) -> Verdict:
    return verdict_of(faults, questions, sets, lines, **undecided)


def test_everything_held_is_covered() -> None:
    assert verdict(*ALL_HELD) is Verdict.COVERED


@pytest.mark.parametrize("lines", [[planned(held=1, short=1)], [planned(short=1)]])
def test_a_short_planned_line_is_not_covered(lines: list[Line]) -> None:
    assert verdict(*lines) is Verdict.NOT_COVERED


def test_a_short_set_is_not_covered() -> None:
    assert verdict(*ALL_HELD, sets=(HELD_SET, SHORT_SET)) is Verdict.NOT_COVERED


def test_a_fault_is_not_covered_whatever_is_held() -> None:
    assert verdict(*ALL_HELD, faults=("fits",)) is Verdict.NOT_COVERED


def test_an_open_question_is_not_known() -> None:
    assert verdict(*ALL_HELD, questions=("liner checked",)) is Verdict.NOT_KNOWN


def test_a_search_that_gave_up_is_not_known() -> None:
    assert verdict(*ALL_HELD, gave_up=True) is Verdict.NOT_KNOWN


@pytest.mark.parametrize(
    "lines",
    [
        [planned(conditional=1)],
        [planned(held=1), contingency(conditional=1)],
        [planned(held=1), contingency(held=1, shared=1)],
        [planned(held=1), contingency(short=1)],
    ],
    ids=["planned on order", "contingency on order", "contingency shared", "contingency short"],
)
def test_at_risk(lines: list[Line]) -> None:
    assert verdict(*lines) is Verdict.AT_RISK


def test_a_conditional_set_is_at_risk() -> None:
    assert verdict(*ALL_HELD, sets=(CONDITIONAL_SET,)) is Verdict.AT_RISK


@pytest.mark.parametrize("not_held", [spare(short=1), spare(conditional=1), spare(held=1, short=1)])
def test_a_spare_that_is_not_held_is_covered_without_a_spare(not_held: Line) -> None:
    assert verdict(planned(held=1), contingency(held=1), not_held) is Verdict.NO_SPARE


# -- the worse one wins ---------------------------------------------------------------------------


def test_each_verdict_gives_way_to_the_one_above() -> None:
    worse: list[tuple[Verdict, dict[str, Any], list[Line]]] = [
        (Verdict.NO_SPARE, {}, [spare(short=1)]),
        (Verdict.AT_RISK, {}, [contingency(short=1), spare(short=1)]),
        (
            Verdict.NOT_KNOWN,
            {"questions": ("liner checked",)},
            [contingency(short=1), spare(short=1)],
        ),
        (
            Verdict.NOT_COVERED,
            {"questions": ("liner checked",)},
            [planned(short=1), contingency(short=1), spare(short=1)],
        ),
        (Verdict.NOT_COVERED, {"questions": ("liner checked",), "sets": (SHORT_SET,)}, []),
        (Verdict.NOT_COVERED, {"questions": ("liner checked",), "faults": ("fits",)}, []),
    ]
    for expected, given, lines in worse:
        assert verdict(*lines, **given) is expected


# -- what a search left undecided is not proved short ---------------------------------------------


def test_a_set_that_is_only_undecided_is_not_known() -> None:
    given: dict[str, Any] = {"sets": (SHORT_SET,), "gave_up": True}
    assert verdict(**given, undecided_sets=frozenset({"femur"})) is Verdict.NOT_KNOWN
    assert verdict(**given, undecided_sets=frozenset({"cup"})) is Verdict.NOT_COVERED


def test_a_planned_line_that_is_only_undecided_is_not_known() -> None:
    undecided = frozenset({(Need.PLANNED, "STEM-12")})
    other = frozenset({(Need.CONTINGENCY, "STEM-12")})
    assert verdict(planned(short=1), gave_up=True, undecided_lines=undecided) is Verdict.NOT_KNOWN
    assert verdict(planned(short=1), gave_up=True, undecided_lines=other) is Verdict.NOT_COVERED


def test_undecided_is_never_covered() -> None:
    """Whatever a search that gave up left open, the case is not better than not known."""
    for lines in ([], ALL_HELD, [spare(short=1)], [contingency(short=1)]):
        assert verdict(*lines, gave_up=True) is Verdict.NOT_KNOWN
