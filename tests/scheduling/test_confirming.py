from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.confirming import Basis, basis_kept, basis_of, differs, what_changed

THEN = Basis(
    plan=2,
    start="08:30 on Tue 2 Mar 2027",
    minutes=180,
    theatre="T1",
    side="left",
    verdict="covered, no spare",
    gaps=("Spare, missing: head.",),
)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"plan": 3}, "Plan version 3 is in force; it was version 2."),
        (
            {"start": "10:30 on Tue 2 Mar 2027"},
            "It starts 10:30 on Tue 2 Mar 2027; it was 08:30 on Tue 2 Mar 2027.",
        ),
        ({"minutes": 200}, "It takes 200 min; it was 180."),
        ({"theatre": ""}, "It is in no theatre; it was T1."),
        ({"side": "right"}, "The side is right; it was left."),
        ({"verdict": "not known"}, "The verdict is not known; it was covered, no spare."),
        ({"gaps": (*THEN.gaps, "No set.")}, "New: No set."),
    ],
)
def test_every_material_change_is_said(changed, said):
    assert what_changed(THEN, replace(THEN, **changed)) == (said,)


def test_good_news_leaves_it_standing_and_is_seen_all_the_same():
    better = replace(THEN, verdict="covered", gaps=())
    assert what_changed(THEN, better) == ()
    assert differs(THEN, better)
    assert not differs(THEN, THEN)


def test_what_is_kept_reads_back():
    assert basis_kept(THEN.kept()) == THEN


def test_of_a_case_as_it_stands(two_cases):
    scenario, report = two_cases
    found = basis_of(scenario, report, "B", 1)
    assert (found.plan, found.verdict, found.minutes) == (1, "not covered", 180)
    assert found.start == "16:30 on Tue 10 Mar 2026"
    assert found.gaps[0].startswith("No set for femoral preparation.")
    with pytest.raises(KeyError):
        basis_of(scenario, report, "C", 1)
