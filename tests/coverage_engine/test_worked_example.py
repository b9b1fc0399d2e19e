"""The worked example of `scheduling/coverage/README.md`, so that it stays true."""

from __future__ import annotations

from datetime import date

from scheduling.coverage.engine import decide
from scheduling.coverage.values import FromPlan, Need, Priority
from scheduling.coverage.verify import verify
from tests.coverage_engine.build import (
    box,
    case,
    implant,
    instrument,
    kind,
    ladder,
    opens,
    rule,
    scenario,
    technique,
    tray,
    why,
)

PLANNED_SIZE = FromPlan("stem.size")

DAY = scenario(
    *(implant(f"STEM-{size}", size=size) for size in (12, 13, 14)),
    *(instrument(f"REAM-{size}", diameter=size) for size in (12, 13)),
    kind("BASE", "REAM-12 REAM-13", turnaround=360, fast=120),
    tray("BASE/1"),
    tray("BASE/2", missing="REAM-12"),
    box("U1", "STEM-12", expiry=date(2027, 6, 30)),
    box("U2", "STEM-12", arrives="Tue 12:00"),
    box("U3", "STEM-13", expiry=date(2027, 4, 30)),
    box("U4", "STEM-13", expiry=date(2027, 12, 31)),
    box("U5", "STEM-14"),
    technique(
        rule("ream", Need.PLANNED, diameter=PLANNED_SIZE),
        rule("stem", Need.CONTINGENCY, size=ladder(on=PLANNED_SIZE, above=1)),
        sets=opens("BASE"),
    ),
    case("A", "Tue 08:00", plan={"stem": {"size": 12}}),
    case("B", "Tue 09:00", plan={"stem": {"size": 13}}, priority=Priority.URGENT),
    case("C", "Tue 16:00", plan={"stem": {"size": 12}}),
)


def test_who_gets_what() -> None:
    report = decide(DAY)
    assert {
        each.case: (
            str(each.verdict),
            each.sets[0].trays,
            {f"{line.need} {line.item}": line.units for line in each.lines if line.units},
        )
        for each in report.cases
    } == {
        "A": (
            "covered",
            ("BASE/1",),
            {"planned STEM-12": ("U1",), "contingency STEM-13": ("U3",)},
        ),
        "B": (
            "covered",
            ("BASE/2",),
            {"planned STEM-13": ("U4",), "contingency STEM-14": ("U5",)},
        ),
        "C": ("at risk", ("BASE/1",), {"planned STEM-12": ("U2",)}),
    }
    assert verify(DAY, report) == []


def test_and_why() -> None:
    report = decide(DAY)
    assert why(report, "A") == {}
    assert why(report, "B") == {}
    assert why(report, "C") == {
        "femur": [
            "depends on fast track of BASE/1 after case A: "
            "ready Tue 2 Mar 12:15, needed by Tue 2 Mar 15:00"
        ],
        "planned STEM-12": ["depends on box U2, due Tue 2 Mar 12:00"],
        "contingency STEM-13": ["shares box U3 with case A, which has it first"],
    }
