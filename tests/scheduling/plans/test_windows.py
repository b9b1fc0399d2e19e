from __future__ import annotations

from scheduling.coverage.values import Ladder, Need
from scheduling.plans.windows import ladders_of, read_windows, window_in_words, with_windows
from tests.scheduling.plans.house import technique


def test_the_ladders_round_what_is_planned():
    assert ladders_of(technique()) == {"stem.size": (1, 2)}


def test_a_window_takes_the_place_of_the_techniques_figures():
    changed = with_windows(technique(), {"stem.size": (0, 4)})
    (ladder,) = (
        rule.select["size"]
        for rule in changed.rules
        if rule.need is Need.CONTINGENCY and rule.select
    )
    assert isinstance(ladder, Ladder)
    assert (ladder.below, ladder.above) == (0, 4)
    assert changed.code == "REV [stem.size 0 below 4 above]"
    assert changed.name == "Revision of the stem"


def test_the_same_figures_or_a_ladder_that_is_gone_change_nothing():
    own = technique()
    assert with_windows(own, {"stem.size": (1, 2)}) is own
    assert with_windows(own, {"sleeve.size": (1, 3)}) is own


def test_reads_what_is_kept_and_names_every_fault():
    faults: list[str] = []
    kept = {"stem.size": [1, 3], "size": [1, 1], "head.size": [1], "cup.size": [True, 10]}
    assert read_windows(kept, "windows", faults) == {"stem.size": (1, 3)}
    assert faults == [
        "windows: “size” is no ladder, such as stem.size",
        "windows.head.size: two whole numbers from 0 to 9",
        "windows.cup.size: two whole numbers from 0 to 9",
    ]
    assert read_windows([], "windows", faults) == {}
    assert faults[-1] == "windows: a mapping of ladder to [below, above]"


def test_in_words():
    assert window_in_words("trial stem.size", (1, 3)) == "trial stem size: 1 below, 3 above"
