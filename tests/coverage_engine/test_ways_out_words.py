"""Ways out as whole sentences, and as JSON."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from scheduling.coverage.changes import (
    AddPacks,
    Change,
    FastTrack,
    LoanBy,
    MoveCase,
    OrderUnits,
    ReleaseReservation,
    SwapTrays,
    Together,
    UnitBy,
    UseOption,
)
from scheduling.coverage.report import Verdict
from scheduling.coverage.report_json import report_to_json
from scheduling.coverage.ways_out import Way, ways_out
from scheduling.coverage.ways_out_json import way_json
from scheduling.coverage.ways_out_words import change_in_words, nothing_in_words, way_in_words
from tests.coverage_engine.one_house import HEAD, STEM, box, case, decided, technique

SUMMER = ZoneInfo("Europe/London")
NO_SET = technique("T")


def at(hour: int) -> datetime:
    """A moment in UTC; an hour later on the walls."""
    return datetime(2027, 7, 5, hour, 30, tzinfo=ZoneInfo("UTC"))


ORDER = OrderUnits("STEM-12", 2, at(15), at(11), "B")
LOAN = LoanBy("ADD/9", "ADD", at(8), at(16))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            UseOption("B", "femoral", ("BASE", "ADD"), ("STAND/1",)),
            "use another option for femoral of this case: BASE and ADD, and release STAND/1",
        ),
        (
            UseOption("A", "femoral", ("BASE",), ("STAND/1", "X/1")),
            "use another option for femoral of case A: BASE, and release STAND/1 and X/1",
        ),
        (
            SwapTrays("B", "BASE/2", "A", "BASE/1"),
            "swap trays with case A: BASE/1 comes here, BASE/2 goes there",
        ),
        (ReleaseReservation("A", trays=("T/1",)), "release what case A has reserved: T/1"),
        (
            ReleaseReservation("B", units=("U1", "U2")),
            "release what this case has reserved: U1 and U2",
        ),
        (
            AddPacks("REAM-14", 1, at(8)),
            "add a supplementary pack of REAM-14, sterile by Mon 5 Jul 09:30",
        ),
        (
            AddPacks("REAM-14", 2, at(8)),
            "add 2 supplementary packs of REAM-14, sterile by Mon 5 Jul 09:30",
        ),
        (FastTrack("ADD/1", "B", None, at(8)), "fast-track ADD/1: ready Mon 5 Jul 09:30"),
        (
            FastTrack("ADD/1", "B", "A", at(8)),
            "fast-track ADD/1 after case A: ready Mon 5 Jul 09:30",
        ),
        (LOAN, "have loan ADD/9 here by Mon 5 Jul 09:30: ready Mon 5 Jul 17:30"),
        (
            LoanBy(None, "ADD", at(8), at(12), fast_track=True),
            "bring in a loan of ADD by Mon 5 Jul 09:30: fast-tracked, ready Mon 5 Jul 13:30",
        ),
        (ORDER, "order 2 × STEM-12 by Mon 5 Jul 16:30: here Mon 5 Jul 12:30"),
        (UnitBy("U1", "STEM-12", "B", at(8)), "have box U1 (STEM-12) here by Mon 5 Jul 09:30"),
        (MoveCase("B", at(8)), "start this case Mon 5 Jul 09:30"),
        (
            Together((MoveCase("B", at(8)), LOAN)),
            "start this case Mon 5 Jul 09:30; and have loan ADD/9 here by Mon 5 Jul 09:30: "
            "ready Mon 5 Jul 17:30",
        ),
    ],
)
def test_what_to_do(change: Change, words: str) -> None:
    assert change_in_words(change, SUMMER, of="B") == words


def test_items_by_the_name_that_is_given() -> None:
    words = change_in_words(ORDER, SUMMER, {"STEM-12": "stem, size 12"}.__getitem__, of="B")
    assert words == "order 2 × stem, size 12 by Mon 5 Jul 16:30: here Mon 5 Jul 12:30"


def way(change: Change, **more: object) -> Way:
    known: dict[str, object] = {
        "case": "B",
        "change": change,
        "before": Verdict.NOT_COVERED,
        "then": {"B": Verdict.COVERED},
        "meanwhile": None,
        "closes": (),
        "costs": (),
    }
    return Way(**known | more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("more", "effects"),
    [
        ({}, ("then covered",)),
        ({"meanwhile": {"B": Verdict.AT_RISK}}, ("then covered", "at risk until it is here")),
        ({"meanwhile": {}}, ("then covered", "not covered until it is here")),
        (
            {"meanwhile": {"B": Verdict.AT_RISK}, "then": {"B": Verdict.AT_RISK}},
            ("then at risk",),
        ),
        (
            {"then": {"B": Verdict.COVERED, "C": Verdict.COVERED}},
            ("then covered", "case C is then covered"),
        ),
        (
            {"then": {"B": Verdict.COVERED, "A": Verdict.AT_RISK}, "costs": ("A", "D")},
            (
                "then covered",
                "case A pays for it: then at risk",
                "case D pays for it: it holds less than now, with the same verdict",
            ),
        ),
        ({"then": {}, "partial": True}, ("closes a gap; still not covered",)),
    ],
)
def test_what_then_becomes_of_whom(more: dict[str, object], effects: tuple[str, ...]) -> None:
    words = way_in_words(way(ORDER, **more), SUMMER)
    assert words.effects == effects
    assert words.costs_others is bool(more.get("costs"))


def test_why_nothing_is_listed() -> None:
    confirm = technique("T") | {"confirmations": [{"code": "films seen"}]}
    for decision, words in (
        (
            decided(
                case("A", "02T08:30", components=STEM),
                techniques=[NO_SET],
                shelf=[box("STEM-12/1")],
            ),
            "nothing, the case is covered",
        ),
        (
            decided(case("A", "02T08:30", components={"stem": {"size": 9}}), techniques=[NO_SET]),
            "nothing outside the plan: its fault is to be mended first",
        ),
        (
            decided(
                case("A", "02T08:30", components=STEM),
                techniques=[confirm],
                shelf=[box("STEM-12/1")],
            ),
            "nothing outside the plan: its open question is to be answered first",
        ),
        (
            decided(
                case("A", "02T08:30", components=STEM),
                techniques=[
                    confirm
                    | {"confirmations": [{"code": "films seen"}, {"code": "side marked"}]}
                    | {"rules": [*NO_SET["rules"], {"role": "stem", "need": "spare"}]}
                ],
                shelf=[box("STEM-12/1")],
            ),
            "nothing outside the plan: its open questions are to be answered first",
        ),
        (
            decided(case("A", "01T08:30", components=HEAD), techniques=[NO_SET], implants=NO_LEAD),
            "nothing that was tried makes the verdict better",
        ),
    ):
        assert ways_out(decision, "A").ways == ()
        assert nothing_in_words(decision.report.case("A")) == words


NO_LEAD = [{"ref": "HEAD-36", "role": "head", "diameter": 36}]


# -- JSON -------------------------------------------------------------------------------------


def test_an_order_as_the_format_has_it() -> None:
    decision = decided(case("C1", "05T08:30", components=STEM), techniques=[NO_SET])
    found = {"C1": ways_out(decision, "C1")}
    report = report_to_json(decision.report, decision.scenario, found)
    assert report["cases"][0]["ways_out"] == [
        {
            "do": "order",
            "item": "STEM-12",
            "quantity": 1,
            "by": "2027-03-02T16:00",
            "arrives": "2027-03-04T12:00",
            "then": {"C1": "covered"},
            "meanwhile": {"C1": "at risk"},
            "closes": [{"need": "planned", "item": "STEM-12"}],
            "costs": [],
            "partial": False,
            "say": "order 1 × STEM-12 by Tue 2 Mar 16:00: here Thu 4 Mar 12:00; then covered; "
            "at risk until it is here",
        }
    ]
    assert report["cases"][0]["ways_out_complete"] is True


def test_no_way_is_listed_where_none_was_asked_for() -> None:
    decision = decided(case("C1", "05T08:30", components=STEM), techniques=[NO_SET])
    (of_case,) = report_to_json(decision.report, decision.scenario)["cases"]
    assert of_case["ways_out"] == []
    assert "ways_out_complete" not in of_case


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            UseOption("B", "femoral", ("BASE", "ADD"), ("STAND/1",)),
            {
                "do": "use another option",
                "case": "B",
                "set": "femoral",
                "option": ["BASE", "ADD"],
                "released": ["STAND/1"],
            },
        ),
        (
            SwapTrays("B", "BASE/2", "A", "BASE/1"),
            {
                "do": "swap trays",
                "case": "B",
                "tray": "BASE/2",
                "other_case": "A",
                "other_tray": "BASE/1",
            },
        ),
        (
            ReleaseReservation("A", trays=("T/1",)),
            {"do": "release a reservation", "case": "A", "trays": ["T/1"], "units": []},
        ),
        (
            AddPacks("REAM-14", 1, at(8)),
            {
                "do": "add a supplementary pack",
                "item": "REAM-14",
                "quantity": 1,
                "by": "2027-07-05T09:30",
            },
        ),
        (
            FastTrack("ADD/1", "B", "A", at(8)),
            {
                "do": "fast-track",
                "tray": "ADD/1",
                "after": "A",
                "case": "B",
                "ready": "2027-07-05T09:30",
            },
        ),
        (
            LOAN,
            {
                "do": "bring a loan in",
                "tray": "ADD/9",
                "configuration": "ADD",
                "by": "2027-07-05T09:30",
                "ready": "2027-07-05T17:30",
                "fast_track": False,
            },
        ),
        (
            UnitBy("U1", "STEM-12", "B", at(8)),
            {"do": "have a box here", "unit": "U1", "item": "STEM-12", "by": "2027-07-05T09:30"},
        ),
        (
            MoveCase("B", at(8)),
            {"do": "start later", "case": "B", "start": "2027-07-05T09:30"},
        ),
        (
            Together((MoveCase("B", at(8)),)),
            {
                "do": "together",
                "steps": [{"do": "start later", "case": "B", "start": "2027-07-05T09:30"}],
            },
        ),
    ],
)
def test_what_to_do_as_json(change: Change, said: dict[str, object]) -> None:
    known = way_json(way(change, costs=("A",)), SUMMER)
    words = known.pop("say")
    assert words == change_in_words(change, SUMMER, of="B") + (
        "; then covered; case A pays for it: it holds less than now, with the same verdict"
    )
    assert known == said | {
        "then": {"B": "covered"},
        "closes": [],
        "costs": ["A"],
        "partial": False,
    }
