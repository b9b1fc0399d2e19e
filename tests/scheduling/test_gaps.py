from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from scheduling.coverage.report import CaseReport, Line, Reason, Report, SetLine, Status, Verdict
from scheduling.coverage.values import Need, Scenario
from scheduling.gaps import Weight, gaps_of

NOW = datetime(2026, 3, 9, 9, 0, tzinfo=UTC)
Two = tuple[Scenario, Report]


def line(
    need: Need,
    item: str,
    *,
    held: int = 0,
    short: int = 0,
    shared: int = 0,
    ordered: int = 0,
    why: tuple[Reason, ...] = (),
) -> Line:
    return Line(
        need=need,
        item=item,
        quantity=held + short + shared + ordered,
        held=held,
        conditional=ordered,
        shared=shared,
        short=short,
        because=why,
    )


def report(*lines: Line, **values: object) -> CaseReport:
    bare = CaseReport("A", Verdict.NOT_COVERED, NOW, NOW, lines=lines)
    return replace(bare, **values)  # type: ignore[arg-type]


def test_nothing_stands_between_a_covered_case_and_its_verdict(two_cases: Two) -> None:
    scenario, decided = two_cases
    assert decided.case("A").verdict is Verdict.COVERED
    assert gaps_of(scenario, decided.case("A")) == ()


def test_what_follows_from_a_set_that_is_short_is_folded_under_it(two_cases: Two) -> None:
    scenario, decided = two_cases
    (gap,) = gaps_of(scenario, decided.case("B"))
    assert gap.weight is Weight.SET_SHORT
    assert gap.what == "No set for femoral preparation"
    assert len(gap.consequences) == 16
    assert "trial stem A, size 12 (planned)" in gap.consequences


def test_the_worst_comes_first(two_cases: Two) -> None:
    scenario, _ = two_cases
    found = gaps_of(
        scenario,
        report(
            line(Need.SPARE, "CABLE", short=1),
            line(Need.CONTINGENCY, "STEM-12-HIGH-225", shared=1),
            line(Need.CONTINGENCY, "STEM-13-STAN-225", short=1),
            line(Need.PLANNED, "HEAD-36-+0", ordered=1),
            line(Need.PLANNED, "STEM-12-STAN-225", short=1),
            faults=("head: not in catalogue",),
            questions=("not stated: bone_diameter_mm",),
            sets=(SetLine("extraction", Status.CONDITIONAL),),
            gave_up=True,
        ),
    )
    assert [gap.weight for gap in found] == [
        Weight.FAULT,
        Weight.PLANNED_SHORT,
        Weight.QUESTION,
        Weight.GAVE_UP,
        Weight.SET_CONDITIONAL,
        Weight.PLANNED_CONDITIONAL,
        Weight.CONTINGENCY_SHORT,
        Weight.CONTINGENCY_SHARED,
        Weight.SPARE,
    ]


def test_lines_with_one_cause_stand_together(two_cases: Two) -> None:
    scenario, _ = two_cases
    cause = (Reason("on hold", {"unit": "U1", "hold": "recalled"}),)
    (gap,) = gaps_of(
        scenario,
        report(
            line(Need.CONTINGENCY, "STEM-11-STAN-225", short=1, why=cause),
            line(Need.CONTINGENCY, "STEM-13-STAN-225", short=2, why=cause),
            line(Need.CONTINGENCY, "STEM-14-STAN-225", short=1, why=cause),
        ),
    )
    assert gap.in_one_line == (
        "Contingency, missing: stem A, size 11, STANDARD offset, 225 mm; "
        "2 × stem A, size 13, STANDARD offset, 225 mm and 1 more. Box U1 is on hold: recalled."
    )


def test_an_open_question_never_reads_as_an_answer(two_cases: Two) -> None:
    scenario, _ = two_cases
    (gap,) = gaps_of(
        scenario,
        report(
            questions=(
                "head and stem tapers differ",
                "not stated: bone_diameter_mm",
                "retained cup inspected on film",
            )
        ),
    )
    assert gap.why == (
        "Cannot be checked until the plan states more: whether “head and stem tapers differ”.",
        "The plan does not state: bone diameter (mm).",
        "To be confirmed: retained cup inspected on film.",
    )
