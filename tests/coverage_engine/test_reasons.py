"""Reasons in words: whole texts, and a text for every reason that there is."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from scheduling.coverage import reasons as words
from scheduling.coverage import tray_model, tray_search
from scheduling.coverage.engine import decide
from scheduling.coverage.reasons import day, names, sentence, span, when
from scheduling.coverage.report import Reason
from scheduling.coverage.tray_model import ROUNDS
from tests.coverage_engine.build import Said, reasons, why
from tests.coverage_engine.reasons_not_decided import GIVES_UP
from tests.coverage_engine.reasons_of_conflicts import CONFLICTS
from tests.coverage_engine.reasons_of_implants import IMPLANTS
from tests.coverage_engine.reasons_of_trays import TRAYS

DECIDED = {**IMPLANTS, **TRAYS, **CONFLICTS}
ENGINE = Path(words.__file__).parent


# -- whole texts ----------------------------------------------------------------------------------


@pytest.mark.parametrize("example", DECIDED.values(), ids=DECIDED.keys())
def test_every_reason_of_a_case_is_said(example: Said) -> None:
    scenario, case, expected = example
    assert why(decide(scenario), case) == expected


@pytest.fixture
def searches_give_up_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tray_search, "MOST_MOVES", 0)
    monkeypatch.setattr(tray_model, "ROUNDS", 0)


@pytest.mark.usefixtures("searches_give_up_at_once")
@pytest.mark.parametrize("example", GIVES_UP.values(), ids=GIVES_UP.keys())
def test_a_search_that_gives_up_says_so(example: Said) -> None:
    scenario, case, expected = example
    report = decide(scenario)
    assert why(report, case) == expected
    assert str(report.case(case).verdict) == "not known"


# -- a text for every reason, a reason for every text ---------------------------------------------


@pytest.mark.usefixtures("searches_give_up_at_once")
def test_every_text_is_that_of_a_reason_above() -> None:
    """So no text is left over, and none was never read."""
    met = codes_met(GIVES_UP)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tray_model, "ROUNDS", ROUNDS)
        met |= codes_met(DECIDED)
    assert met == set(words._SENTENCES)


def codes_met(examples: Mapping[str, Said]) -> set[str]:
    return {
        reason.code
        for scenario, case, _ in examples.values()
        for because in reasons(decide(scenario), case).values()
        for reason in because
    }


def test_every_reason_in_the_engines_source_has_a_text() -> None:
    """Read from the source, so that a reason that no scenario above reaches is found too."""
    found = set(codes_in_source())
    assert found == set(words._SENTENCES)


def codes_in_source() -> Iterator[str]:
    for path in sorted(ENGINE.glob("*.py")):
        tree = ast.parse(path.read_text())
        constants = {
            target.id: node.value
            for node in tree.body
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Reason":
                yield from _codes(node.args[0], constants, f"{path.name}:{node.lineno}")


def _codes(code: ast.expr, constants: Mapping[str, ast.expr], place: str) -> Iterator[str]:
    match code:
        case ast.Constant(value=str(text)):
            yield text
        case ast.Name(id=name) if name in constants:
            yield from _codes(constants[name], constants, place)
        case ast.IfExp(body=one, orelse=other):
            yield from _codes(one, constants, place)
            yield from _codes(other, constants, place)
        case _:
            pytest.fail(f"{place}: say the reason's code as a text, so that it can be checked")


def test_a_reason_without_a_text_is_an_error() -> None:
    with pytest.raises(KeyError):
        sentence(Reason("no such reason"))


# -- how times, dates, intervals and names are said -----------------------------------------------


def test_a_time() -> None:
    assert when(datetime(2027, 3, 3, 8, 30, tzinfo=UTC)) == "Wed 3 Mar 08:30"
    assert when(None) == "never"


def test_a_date() -> None:
    assert day(date(2027, 3, 3)) == "3 Mar 2027"


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (1, "1 min"),
        (59, "59 min"),
        (60, "1 h"),
        (85, "1 h 25 min"),
        (47 * 60 + 59, "47 h 59 min"),
        (48 * 60, "2 days"),
        (71 * 60, "2 days"),
        (72 * 60, "3 days"),
    ],
)
def test_an_interval(minutes: int, said: str) -> None:
    assert span(minutes) == said


def test_names_in_a_row() -> None:
    assert names(("C1",)) == "C1"
    assert names(("C1", "C2")) == "C1 and C2"
    assert names(("C1", "C2", "C3")) == "C1, C2 and C3"
