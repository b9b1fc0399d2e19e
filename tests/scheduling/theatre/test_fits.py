from __future__ import annotations

import pytest

from scheduling.theatre.fits import Fit, Part, findings

STEM = Part("stem", "stem, size 12", {"taper": "T1"})
HEAD = Part("head", "head, Ø 36 mm", {"diameter": 36, "taper": "T1"})
LINER = Part("liner", "liner 36", {"inner_diameter": 36, "group": "D"})
SHELL = Part("shell", "shell 54", {"diameter": 54, "group": "D"})
ALL = ("stem", "head", "liner", "shell")
PAIRS = frozenset({("T1", "T1")})


def found(hand, there=(), planned=ALL, facts=None, declared=PAIRS):
    return [
        (each.rule, each.fit)
        for each in findings(hand, there, planned=planned, facts=facts or {}, declared=declared)
    ]


def part(role, **attributes):
    return Part(role, role, attributes)


@pytest.mark.parametrize(("hand", "there"), [(HEAD, LINER), (LINER, HEAD)])
def test_head_and_liner_by_their_diameters_whichever_comes_first(hand, there):
    assert found(hand, [there]) == [("head and liner", Fit.DECLARED)]


@pytest.mark.parametrize(
    ("hand", "there"),
    [
        (part("head", diameter=32), LINER),
        (part("liner", inner_diameter=32, group="D"), HEAD),
    ],
)
def test_another_diameter_differs(hand, there):
    assert found(hand, [there]) == [("head and liner", Fit.DIFFERS)]


def test_both_values_are_said():
    (said,) = findings(
        part("liner", inner_diameter=32), [HEAD], planned=ALL, facts={}, declared=PAIRS
    )
    assert said.asked == "liner for diameter 36 mm: head, Ø 36 mm"
    assert said.read == "inner diameter 32 mm: liner"


@pytest.mark.parametrize(("hand", "there"), [(LINER, SHELL), (SHELL, LINER)])
def test_liner_and_shell_by_their_group(hand, there):
    assert found(hand, [there]) == [("liner and shell", Fit.DECLARED)]
    other = Part(there.role, "other", {**there.attributes, "group": "E"})
    assert found(hand, [other]) == [("liner and shell", Fit.DIFFERS)]


@pytest.mark.parametrize(("hand", "there"), [(HEAD, STEM), (STEM, HEAD)])
def test_a_taper_pair_counts_only_where_it_is_declared(hand, there):
    assert found(hand, [there]) == [("head and stem tapers", Fit.DECLARED)]
    assert found(hand, [there], declared=frozenset()) == [("head and stem tapers", Fit.NOT_KNOWN)]


def test_equal_names_of_tapers_prove_nothing():
    """“12/14” is not one standard: combine only pairs that the maker declares (common practice)."""
    hand, there = part("head", diameter=36, taper="12/14"), part("stem", taper="12/14")
    assert found(hand, [there]) == [("head and stem tapers", Fit.NOT_KNOWN)]


def test_a_declared_pair_has_a_direction():
    """The stem's taper first: the same two names the other way round are another pair."""
    pairs = frozenset({("T1", "T2")})
    assert found(part("head", taper="T2"), [STEM], declared=pairs)[0][1] is Fit.DECLARED
    assert found(HEAD, [part("stem", taper="T2")], declared=pairs)[0][1] is Fit.NOT_KNOWN


@pytest.mark.parametrize(
    ("hand", "there"),
    [
        (part("head", taper="T1"), LINER),
        (HEAD, part("liner", group="D")),
        (part("liner", inner_diameter=36), SHELL),
        (part("head", diameter=36), STEM),
    ],
)
def test_what_is_not_recorded_is_not_known(hand, there):
    assert [fit for _, fit in found(hand, [there])] == [Fit.NOT_KNOWN]


class TestWhatThePatientKeeps:
    def test_a_retained_stem_is_held_against_by_the_plans_fact(self):
        planned = ("head", "liner", "shell")
        assert found(HEAD, planned=planned, facts={"stem_taper": "T1"}) == [
            ("head and stem tapers", Fit.DECLARED)
        ]
        assert found(HEAD, planned=planned, facts={"stem_taper": "T9"}) == [
            ("head and stem tapers", Fit.NOT_KNOWN)
        ]

    def test_one_that_nobody_recorded_is_not_known(self):
        assert found(HEAD, planned=("head", "liner", "shell")) == [
            ("head and stem tapers", Fit.NOT_KNOWN)
        ]

    def test_a_retained_liner(self):
        planned = ("stem", "head")
        assert found(HEAD, [STEM], planned=planned, facts={"liner_inner_diameter": 32}) == [
            ("head and liner", Fit.DIFFERS),
            ("head and stem tapers", Fit.DECLARED),
        ]

    def test_a_retained_head_under_a_new_liner(self):
        facts = {"head_diameter": 36, "shell_group": "D"}
        assert found(LINER, planned=("liner",), facts=facts) == [
            ("head and liner", Fit.DECLARED),
            ("liner and shell", Fit.DECLARED),
        ]


def test_a_planned_partner_that_is_not_there_yet_asks_nothing():
    assert found(HEAD) == []


def test_every_part_that_is_there_is_held_against():
    two = [LINER, part("liner", inner_diameter=32)]
    assert [fit for _, fit in found(HEAD, two)] == [Fit.DIFFERS, Fit.DECLARED]


def test_a_screw_goes_by_no_rule():
    assert found(part("screw", diameter=6), [SHELL, LINER, HEAD, STEM]) == []


def test_the_worst_is_said_first():
    there = [STEM, part("liner", inner_diameter=28)]
    assert [fit for _, fit in found(HEAD, there, declared=frozenset())] == [
        Fit.DIFFERS,
        Fit.NOT_KNOWN,
    ]
