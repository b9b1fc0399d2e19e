"""What stands between a case and *covered*: one entry a cause, worst first.

Lines with the same cause stand together; what is only a consequence (the instruments of a set
that is short) is folded under its cause.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

from scheduling.coverage.reasons import sentence
from scheduling.coverage.report import CaseReport, Line, Reason, SetLine, Status
from scheduling.coverage.values import Need, Scenario, Technique
from scheduling.fault_words import faults_in_words
from scheduling.words import NO_PLAN, item_in_words, label_in_words

GAVE_UP = "The search was given up before it found an arrangement or proved that there is none."
NOT_STATED = "not stated: "
ON_A_LADDER = "text on a ladder: "
NOT_PLANNED = "Nothing can be checked until it is written."


class Weight(IntEnum):
    """How bad a gap is, by the verdict that it brings; the order in which gaps are shown."""

    FAULT = 0
    SET_SHORT = 1
    PLANNED_SHORT = 2
    QUESTION = 3
    GAVE_UP = 4
    SET_CONDITIONAL = 5
    PLANNED_CONDITIONAL = 6
    CONTINGENCY_SHORT = 7
    CONTINGENCY_SHARED = 8
    CONTINGENCY_CONDITIONAL = 9
    SPARE = 10


@dataclass(frozen=True, slots=True)
class Gap:
    """`what` is wrong, `why`, the `items` that share the cause, and what follows from it."""

    weight: Weight
    what: str
    why: tuple[str, ...] = ()
    items: tuple[str, ...] = ()
    consequences: tuple[str, ...] = ()

    @property
    def in_one_line(self) -> str:
        """For a list of cases: what, which (two at most), and the first reason."""
        said = self.what
        if self.items:
            more = f" and {len(self.items) - 2} more" if len(self.items) > 2 else ""
            said += ": " + "; ".join(self.items[:2]) + more
        return f"{said}. {self.why[0]}" if self.why else said


def gaps_of(scenario: Scenario, report: CaseReport) -> tuple[Gap, ...]:
    """Every gap of the case, worst first; none where it is covered."""
    folded = consequences_of(scenario, report)
    technique = scenario.techniques[scenario.cases[report.case].technique]
    found = []
    if technique.code == NO_PLAN:
        found.append(Gap(Weight.FAULT, "No plan yet", (NOT_PLANNED,)))
    elif report.faults:
        why = tuple(capital(fault) for fault in faults_in_words(report.faults))
        found.append(Gap(Weight.FAULT, "Fault in the plan", why))
    if report.questions:
        why = tuple(question_in_words(technique, question) for question in report.questions)
        found.append(Gap(Weight.QUESTION, "Open question", why))
    if report.gave_up:
        found.append(Gap(Weight.GAVE_UP, "Not decided", (GAVE_UP,)))
    found += [gap_of_set(scenario, line, folded.get(line.purpose, ())) for line in unmet(report)]
    already = {(line.need, line.item) for lines in folded.values() for line in lines}
    found += gaps_of_lines(
        scenario, [line for line in report.lines if (line.need, line.item) not in already]
    )
    return tuple(sorted(found, key=lambda gap: gap.weight))


def question_in_words(technique: Technique, question: str) -> str:
    """A check's code states what is wrong when it fails; here nobody knows yet, so say that."""
    if any(check.code == question for check in technique.checks):
        return f"Cannot be checked until the plan states more: whether “{question}”."
    if any(asked.code == question for asked in technique.confirmations):
        return f"To be confirmed: {question}."
    if question.startswith(NOT_STATED):
        return f"The plan does not state: {label_in_words(question.removeprefix(NOT_STATED))}."
    if question.startswith(ON_A_LADDER):
        what = label_in_words(question.removeprefix(ON_A_LADDER))
        return f"The catalogue or the plan has text where steps are counted: {what}."
    return capital(question)


def unmet(report: CaseReport) -> list[SetLine]:
    return [line for line in report.sets if line.status is not Status.HELD]


def gap_of_set(scenario: Scenario, line: SetLine, folded: tuple[Line, ...]) -> Gap:
    why = sentences(line.because)
    if line.status is Status.SHORT:
        return Gap(
            Weight.SET_SHORT,
            f"No set for {line.purpose}",
            why,
            consequences=tuple(
                f"{item_in_words(scenario, lack.item)} ({lack.need})" for lack in folded
            ),
        )
    return Gap(Weight.SET_CONDITIONAL, f"Set for {line.purpose}", why)


def consequences_of(scenario: Scenario, report: CaseReport) -> dict[str, tuple[Line, ...]]:
    """Purpose of each short set → the instrument lines that it would have met."""
    technique = scenario.techniques[scenario.cases[report.case].technique]
    options = {asked.purpose: asked.options for asked in technique.sets}
    folded = {}
    taken: set[tuple[Need, str]] = set()
    for line in unmet(report):
        if line.status is not Status.SHORT:
            continue
        holds = {
            item
            for option in options.get(line.purpose, ())
            for code in option
            for item in scenario.configurations[code].contents
        }
        folded[line.purpose] = tuple(
            lack
            for lack in report.lines
            if lack.short and lack.item in holds and (lack.need, lack.item) not in taken
        )
        taken |= {(lack.need, lack.item) for lack in folded[line.purpose]}
    return folded


def gaps_of_lines(scenario: Scenario, lines: list[Line]) -> list[Gap]:
    """Lines that are not held, those with the same need, state and reasons in one gap."""
    grouped: dict[tuple[Weight, str, tuple[str, ...]], list[str]] = {}
    for line in lines:
        why = sentences(line.because)
        for weight, what, number in states_of(line):
            words = item_in_words(scenario, line.item)
            said = f"{number} × {words}" if line.quantity > 1 else words
            grouped.setdefault((weight, what, why), []).append(said)
    return [
        Gap(weight, what, why, items=tuple(items)) for (weight, what, why), items in grouped.items()
    ]


def states_of(line: Line) -> Iterator[tuple[Weight, str, int]]:
    """The states of a line that are not held: how bad, in words, how many."""
    planned, spare = line.need is Need.PLANNED, line.need is Need.SPARE
    name = str(line.need).capitalize()
    if line.short:
        weight = Weight.PLANNED_SHORT if planned else Weight.CONTINGENCY_SHORT
        yield Weight.SPARE if spare else weight, f"{name}, missing", line.short
    if line.shared:
        yield Weight.CONTINGENCY_SHARED, f"{name}, shared", line.shared
    if line.conditional:
        weight = Weight.PLANNED_CONDITIONAL if planned else Weight.CONTINGENCY_CONDITIONAL
        yield Weight.SPARE if spare else weight, f"{name}, not here yet", line.conditional


def sentences(reasons: tuple[Reason, ...]) -> tuple[str, ...]:
    return tuple(capital(sentence(reason)) for reason in reasons)


def capital(text: str) -> str:
    """As a sentence: a capital and a full stop."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")
