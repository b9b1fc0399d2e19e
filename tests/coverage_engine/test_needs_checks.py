"""The sets of a technique, its checks and the confirmations that it asks for."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from scheduling.coverage.values import (
    Check,
    Confirmation,
    FromPlan,
    SetAsked,
    Technique,
    Times,
)
from tests.coverage_engine.build import technique
from tests.coverage_engine.small_catalogue import needs

# -- sets, checks, confirmations ------------------------------------------------------------------


def test_a_set_is_asked_for_where_its_condition_holds() -> None:
    always, cemented = (
        SetAsked("femur", (("BASE",),)),
        SetAsked("cement", (("GUN",),), when={"cemented": (True,)}),
    )
    asked = technique(sets=(always, cemented))
    assert needs(asked, cemented=True).sets == (always, cemented)
    assert needs(asked, cemented=False).sets == (always,)
    unstated = needs(asked)
    assert unstated.sets == (always,)
    assert unstated.questions == ("not stated: cemented",)


def check(kind: Any, left: Any, right: Any, when: Any = None) -> Technique:
    return technique(checks=(Check("fits", kind, left, right, when or {}),))


SAME_OFFSET = check("equal", (FromPlan("stem.offset"),), (FromPlan("neck_offset"),))


@pytest.mark.parametrize(
    ("neck_offset", "faults", "questions"),
    [("standard", (), ()), ("high", ("fits",), ()), (None, (), ("fits",))],
)
def test_two_values_are_compared(
    neck_offset: str | None, faults: tuple[str, ...], questions: tuple[str, ...]
) -> None:
    facts = {} if neck_offset is None else {"neck_offset": neck_offset}
    found = needs(SAME_OFFSET, **facts)  # type: ignore[arg-type]
    assert found.faults == faults
    assert found.questions == questions


@pytest.mark.parametrize(("bone_mm", "fails"), [(Decimal("10.5"), False), (Decimal("10.6"), True)])
def test_two_sums_are_compared(bone_mm: Decimal, fails: bool) -> None:
    """Size 12 + 30 against 21 + 2 × bone: the sums are equal at 10.5."""
    asked = check("at least", (FromPlan("stem.size"), 30), (21, Times(2, "bone_mm")))
    assert bool(needs(asked, bone_mm=bone_mm).faults) is fails


@pytest.mark.parametrize("bone", [{}, {"bone_mm": "wide"}], ids=["not stated", "not a number"])
def test_a_sum_with_an_unknown_side_is_a_question(bone: dict[str, str]) -> None:
    asked = check("at least", (FromPlan("stem.size"),), (Times(2, "bone_mm"),))
    found = needs(asked, **bone)  # type: ignore[arg-type]
    assert found.faults == ()
    assert found.questions == ("fits",)


def test_a_check_against_a_component_with_a_fault_is_a_question() -> None:
    found = needs(SAME_OFFSET, plan={"stem": {"size": 13}}, neck_offset="high")
    assert found.faults == ("nothing is asked for", "stem: not in catalogue")
    assert found.questions == ("fits",)


def test_a_check_whose_condition_does_not_hold_is_not_made() -> None:
    fails = check("equal", (1,), (2,), when={"cemented": (True,)})
    assert needs(fails, cemented=True).faults == ("fits",)
    assert needs(fails, cemented=False).faults == ()
    unstated = needs(fails)
    assert unstated.faults == ()
    assert unstated.questions == ("not stated: cemented",)


def test_a_confirmation_that_is_not_given_is_a_question() -> None:
    asked = technique(
        confirmations=(
            Confirmation("liner checked"),
            Confirmation("bow seen", {"cemented": (True,)}),
        )
    )
    assert needs(asked, cemented=False).questions == ("liner checked",)
    assert needs(asked, cemented=True).questions == ("bow seen", "liner checked")
    assert needs(asked, cemented=True, confirmed=("liner checked", "bow seen")).questions == ()
