"""Ladders, ranges and next boxes, from a scenario and a distribution."""

from __future__ import annotations

from datetime import date
from itertools import combinations_with_replacement

import pytest

from scheduling.coverage.values import Scenario
from scheduling.size_risk.difference import Basis, Difference
from scheduling.size_risk.forecast import ladder_risk, next_boxes
from scheduling.size_risk.ladders import SizeLadder, ladders
from scheduling.size_risk.risk import size_risk
from scheduling.size_risk.spread import spread
from tests.coverage_engine.build import box, case, implant, scenario

RECORD = Difference({0: 0.6, 1: 0.3, -1: 0.1}, Basis.RECORD, cases=40)
OWN = Difference({1: 1.0}, Basis.SURGEON, cases=30)
ASSUMED = Difference({0: 0.6, 1: 0.3, -1: 0.1}, Basis.PRIOR, cases=4)


def stem(size: int, offset: str = "standard") -> object:
    ref = f"STEM-{size}-{offset}"
    return implant(ref, size=size, offset=offset, system="A", distal_diameter=size)


def planned(ref: str, start: str, size: int, offset: str = "standard") -> object:
    return case(ref, start, plan={"stem": {"system": "A", "size": size, "offset": offset}})


def shelf(*more: object) -> Scenario:
    return scenario(
        *(stem(size) for size in (10, 11, 12, 14)),
        *(stem(size, "high") for size in (12, 14)),
        planned("C2", "Wed 08:00", 12),
        planned("C1", "Tue 08:00", 11),
        planned("C3", "Thu 08:00", 14, "high"),
        *more,
    )


def standard(of: Scenario) -> SizeLadder:
    return next(ladder for ladder in ladders(of) if ("offset", "standard") in ladder.same)


def test_cases_in_time_order_on_the_ladder_of_their_line() -> None:
    found = ladders(shelf())
    high, low = sorted(found, key=lambda ladder: ladder.same)
    assert [one.ref for one in low.cases] == ["C1", "C2"]
    assert low.sizes == high.sizes == (10, 11, 12, 14)
    assert low.planned == (1, 2)
    assert high.planned == (3,)
    assert high.boxes == {2: 0, 3: 0}  # what is not made is not to be had, and not to be bought


def test_boxes_that_are_there_for_all_cases_of_the_ladder() -> None:
    found = standard(
        shelf(
            box("U1", "STEM-12-standard"),
            box("U2", "STEM-12-standard", hold="recalled"),
            box("U3", "STEM-12-standard", arrives="Mon 12:00"),
            box("U4", "STEM-12-standard", expiry=date(2027, 3, 2)),
            box("U5", "STEM-12-standard", expiry=date(2027, 3, 3)),
            box("U6", "STEM-12-high"),
        )
    )
    assert found.boxes == {0: 0, 1: 0, 2: 2, 3: 0}


def test_a_plan_that_matches_no_single_implant_is_on_no_ladder() -> None:
    unclear = case("C1", plan={"stem": {"system": "A", "size": 12}})
    assert ladders(scenario(stem(12), stem(12, "high"), unclear)) == ()


def test_a_case_has_a_range_around_the_exact_chance() -> None:
    ladder = standard(shelf(box("U1", "STEM-11-standard"), box("U2", "STEM-12-standard")))
    risk = ladder_risk(ladder, [RECORD] * 2)
    assert risk is not None
    exact = size_risk(ladder.planned, ladder.boxes, [RECORD] * 2)
    assert [one.finds for one in risk.cases] == [spread(p, 40) for p in exact.finds]
    assert all(
        one.finds.low < p < one.finds.high for one, p in zip(risk.cases, exact.finds, strict=True)
    )
    assert risk.without.low < exact.without < risk.without.high
    assert [(one.planned, one.boxes) for one in risk.cases] == [(11, 1), (12, 1)]


def test_more_cases_on_record_make_the_range_narrower() -> None:
    few, many = spread(0.8, 30), spread(0.8, 300)
    assert few.low < many.low < 0.8 < many.high < few.high


def test_an_assumption_gives_no_figure() -> None:
    of = shelf()
    assert ladder_risk(standard(of), [ASSUMED] * 2) is None
    assert next_boxes((ladder, [ASSUMED] * len(ladder.cases)) for ladder in ladders(of)) == []


def test_nor_does_a_ladder_on_which_one_case_rests_on_an_assumption() -> None:
    ladder = standard(shelf())
    assert ladder_risk(ladder, [OWN, ASSUMED]) is None
    assert next_boxes([(ladder, [OWN, ASSUMED])]) == []


def test_each_case_rests_on_its_own_and_is_known_as_well_as_those_before() -> None:
    """C1 is of a surgeon with a record of 30, C2 rests on the line's 40."""
    ladder = standard(shelf(box("U1", "STEM-11-standard"), box("U2", "STEM-12-standard")))
    risk = ladder_risk(ladder, [OWN, RECORD])
    assert risk is not None
    # C1, planned 11, always uses the 12; C2, planned 12, is left with the 11 alone.
    assert [one.finds for one in risk.cases] == [spread(1.0, 30), spread(0.1, 30)]
    assert [one.difference for one in risk.cases] == [OWN, RECORD]
    other = ladder_risk(ladder, [RECORD, OWN])
    assert other is not None
    assert [one.finds.low for one in other.cases] == pytest.approx([spread(0.9, 40).low, 0.0])


@pytest.mark.parametrize("number", [1, 2, 3])
def test_the_next_boxes_are_the_best_of_all_ladders_together(number: int) -> None:
    """By trying all ways to buy so many."""
    of = ladders(shelf(box("U1", "STEM-12-standard")))
    choices = [(place, rung) for place, ladder in enumerate(of) for rung in ladder.boxes]

    def without(bought: tuple[tuple[int, int], ...]) -> float:
        return sum(
            size_risk(
                ladder.planned,
                {rung: n + bought.count((place, rung)) for rung, n in ladder.boxes.items()},
                [RECORD] * len(ladder.cases),
            ).without
            for place, ladder in enumerate(of)
        )

    best = min(without(bought) for bought in combinations_with_replacement(choices, number))
    chosen = next_boxes((ladder, [RECORD] * len(ladder.cases)) for ladder in of)[:number]
    helped = without(()) - sum(one.helps for one in chosen)
    assert helped == pytest.approx(best, abs=1e-12)
