"""What a case wants and cannot be fetched, each with its reason: the "not to hand" of a list.

Instruments that are absent only because their set is, are named with the set.
"""

from __future__ import annotations

from collections.abc import Iterator

from deploy.kit.attributes import in_words
from scheduling.coverage.reasons import sentence
from scheduling.coverage.report import CaseReport, Line, SetLine, Status
from scheduling.coverage.values import Need, Scenario
from scheduling.pick_lists.values import Absent
from scheduling.pick_lists.words import capital


def absences(scenario: Scenario, report: CaseReport) -> tuple[Absent, ...]:
    """Sets first, then planned, contingency and spare lines, in the report's order."""
    needs = list(Need)
    lines = sorted(report.lines, key=lambda line: needs.index(line.need))
    return tuple(
        [absent for each in report.sets for absent in _of_set(scenario, each, lines)]
        + [absent for line in lines if not _set_of(line) for absent in _of_line(scenario, line)]
    )


def _of_set(scenario: Scenario, asked: SetLine, lines: list[Line]) -> Iterator[Absent]:
    if asked.status is Status.HELD:
        return
    because = tuple(sentence(reason) for reason in asked.because)
    state = "short"
    if asked.status is Status.CONDITIONAL:
        awaited = [code for code in asked.trays if scenario.trays[code].arrives is not None]
        state = "awaited" if awaited else "only by fast track"
    for need in Need:
        inside = [
            _in_words(scenario, line.item)
            for line in lines
            if line.need is need and _set_of(line) == asked.purpose
        ]
        if inside:
            because += (f"with it, {need.value}: {'; '.join(inside)}",)
    yield Absent(f"Set for {asked.purpose}", "", Need.PLANNED, 1, state, because)


def _set_of(line: Line) -> str:
    """The purpose of the set without which the line is absent, where that is the only reason."""
    sets = {reason.values.get("set") for reason in line.because}
    follows = all(reason.code == "follows from set" for reason in line.because)
    return str(sets.pop()) if follows and len(sets) == 1 else ""


def _of_line(scenario: Scenario, line: Line) -> Iterator[Absent]:
    on_order = "on order" if line.item in scenario.implants else "not here yet"
    for quantity, state, codes in (
        (line.short, "short", None),
        (line.conditional, on_order, _CONDITIONAL),
        (len(line.leans_on), "shared", _SHARED),
    ):
        if quantity:
            said = tuple(
                sentence(reason) for reason in line.because if _belongs(reason.code, codes)
            )
            what = _in_words(scenario, line.item)
            yield Absent(what, line.item, line.need, quantity, state, said)


_CONDITIONAL = frozenset({"on order", "depends on arrival", "depends on fast track"})
_SHARED = frozenset({"shared", "use replaced"})


def _belongs(code: str, codes: frozenset[str] | None) -> bool:
    """None: to a shortage, whose reasons are all that belong to no other state."""
    return code in codes if codes is not None else code not in _CONDITIONAL | _SHARED


def _in_words(scenario: Scenario, ref: str) -> str:
    """`Stem, size 12, HIGH offset, 225 mm`"""
    item = scenario.implants.get(ref) or scenario.instruments[ref]
    described = in_words(item.attributes) or item.name
    return ", ".join(part for part in (capital(item.role), described) if part)
