"""The distribution of used − planned: the house's record, or a marked prior until it is enough."""

from __future__ import annotations

import pytest

from scheduling.size_risk.difference import Basis, Difference, difference_of
from scheduling.size_risk.faults import SizeRiskFaults

PRIOR = {0: 0.5, 1: 0.25, -1: 0.25}


def test_below_the_minimum_the_prior_stands_and_is_marked() -> None:
    found = difference_of({0: 18, 1: 1}, prior=PRIOR, enough=20)
    assert found == Difference(PRIOR, Basis.PRIOR, cases=19)


def test_from_the_minimum_on_the_record_decides_alone() -> None:
    found = difference_of({0: 15, 1: 4, -1: 1, 2: 0}, prior=PRIOR, enough=20)
    assert found == Difference({0: 0.75, 1: 0.2, -1: 0.05}, Basis.RECORD, cases=20)


def test_a_surgeon_with_enough_cases_of_their_own_rests_on_these() -> None:
    line, own = {0: 30, 1: 10}, {0: 5, 1: 15}
    found = difference_of(line, prior=PRIOR, enough=20, own=own)
    assert found == Difference({0: 0.25, 1: 0.75}, Basis.SURGEON, cases=20)
    fewer = difference_of(line, prior=PRIOR, enough=21, own=own)
    assert fewer == Difference({0: 0.75, 1: 0.25}, Basis.RECORD, cases=40)
    assert difference_of({}, prior=PRIOR, enough=21, own=own).basis is Basis.PRIOR


def test_a_house_without_any_record_has_the_prior() -> None:
    assert difference_of({}, prior=PRIOR, enough=1) == Difference(PRIOR, Basis.PRIOR)


def test_all_faults_of_a_record_are_told_at_once() -> None:
    with pytest.raises(SizeRiskFaults) as refused:
        difference_of({0: 5, 1: -2}, prior=PRIOR, enough=0)
    assert refused.value.faults == (
        "record[1]: not a number of cases: -2",
        "enough: at least 1 case, not 0",
    )


@pytest.mark.parametrize(
    ("chances", "fault"),
    [
        ({0: 0.5, 1: 0.4}, "chances: they sum to 0.9, not to 1"),
        ({}, "chances: they sum to 0, not to 1"),
        ({0: 1.5, 1: -0.5}, "chances[0]: not a probability: 1.5"),
        ({0: float("nan")}, "chances[0]: not a probability: nan"),
    ],
    ids=str,
)
def test_what_is_no_distribution_is_refused(chances: dict[int, float], fault: str) -> None:
    with pytest.raises(SizeRiskFaults) as refused:
        Difference(chances, Basis.PRIOR)
    assert refused.value.faults[0] == fault


def test_a_prior_that_is_no_distribution_is_refused_when_it_is_used() -> None:
    with pytest.raises(SizeRiskFaults):
        difference_of({}, prior={0: 0.9}, enough=1)
