"""Scenarios in which implants are not held, with every reason as it is said."""

from __future__ import annotations

from datetime import date

from scheduling.coverage.values import Priority
from tests.coverage_engine.build import Said, box, implant, scenario, wants

STEM = "STEM-12"
PLAIN = implant(STEM)
REPLACED = implant(STEM, lead_days=1, replaced_on_use=True)
ASKS = wants("C1", "Tue 08:00", STEM)
DAYS = ((1, "Mon"), (2, "Tue"), (3, "Wed"), (4, "Fri"))

IMPLANTS: dict[str, Said] = {
    "on order": (
        scenario(box("U1", STEM, arrives="Mon 15:30"), ASKS),
        "C1",
        {"planned STEM-12": ["depends on box U1, due Mon 1 Mar 15:30"]},
    ),
    "shared": (
        scenario(
            box("U1", STEM),
            wants("C1", "Tue 08:00", contingency=STEM),
            wants("C2", "Wed 08:00", contingency=STEM),
        ),
        "C2",
        {"contingency STEM-12": ["shares box U1 with case C1, which has it first"]},
    ),
    "use replaced": (
        scenario(
            REPLACED,
            box("U1", STEM),
            wants("C1", "Tue 08:00", contingency=STEM),
            wants("C2", "Thu 08:00", contingency=STEM),
        ),
        "C2",
        {"contingency STEM-12": ["leans on box U1 of case C1; a use would be replaced in time"]},
    ),
    "shared with more than one case": (
        scenario(
            box("U1", STEM),
            *(wants(f"C{n}", f"{day} 08:00", contingency=STEM) for n, day in DAYS),
        ),
        "C4",
        {
            "contingency STEM-12": [
                "shares box U1 with case C1, which has it first, and with cases C2 and C3"
            ]
        },
    ),
    "the uses of several cases replaced": (
        scenario(
            REPLACED,
            box("U1", STEM),
            *(wants(f"C{n}", f"{day} 08:00", contingency=STEM) for n, day in (DAYS[0], *DAYS[2:])),
        ),
        "C4",
        {
            "contingency STEM-12": [
                "leans on box U1 of case C1 beside case C3; a use would be replaced in time"
            ]
        },
    ),
    "none in the house": (
        scenario(PLAIN, ASKS),
        "C1",
        {"planned STEM-12": ["no box of STEM-12 is here or on order"]},
    ),
    "box by box, what can be chased first": (
        scenario(
            box("U1", STEM, expiry=date(2027, 3, 1)),
            box("U2", STEM, hold="wrap torn"),
            box("U3", STEM, arrives="Tue 09:25"),
            box("U4", STEM, arrives="Thu 09:00"),
            box("U5", STEM, arrives="Mon 05:00"),
            ASKS,
        ),
        "C1",
        {
            "planned STEM-12": [
                "box U5 is overdue since Mon 1 Mar 05:00",
                "box U3 arrives Tue 2 Mar 09:25, 2 h 25 min too late",
                "box U4 arrives Thu 4 Mar 09:00, 2 days too late",
                "box U2 is on hold: wrap torn",
                "box U1 has use by 1 Mar 2027, the case ends on 2 Mar 2027",
            ]
        },
    ),
    "on hold says more than out of date": (
        scenario(box("U1", STEM, expiry=date(2027, 3, 1), hold="recalled"), ASKS),
        "C1",
        {"planned STEM-12": ["box U1 is on hold: recalled"]},
    ),
    "the competition of two cases for one box": (
        scenario(
            box("U1", STEM),
            wants("C1", "Tue 08:00", STEM),
            wants("C2", "Wed 08:00", STEM, priority=Priority.URGENT),
        ),
        "C1",
        {
            "planned STEM-12": [
                "box U1 is promised to case C2 (planned)",
                "cases C1 and C2 together want 2, there is 1 box that serves",
            ]
        },
    ),
    "the competition of three cases for two boxes": (
        scenario(
            box("U1", STEM),
            box("U2", STEM),
            wants("C1", "Tue 08:00", STEM),
            wants("C2", "Wed 08:00", STEM),
            wants("C3", "Thu 08:00", STEM),
        ),
        "C3",
        {
            "planned STEM-12": [
                "box U1 is promised to case C1 (planned)",
                "box U2 is promised to case C2 (planned)",
                "cases C1, C2 and C3 together want 3, there are 2 boxes that serve",
            ]
        },
    ),
    "the competition of a case that has two of the boxes": (
        scenario(
            box("U1", STEM),
            box("U2", STEM),
            wants("C1", "Tue 08:00", {STEM: 2}),
            wants("C2", "Wed 08:00", STEM),
        ),
        "C2",
        {
            "planned STEM-12": [
                "box U1 is promised to case C1 (planned)",
                "box U2 is promised to case C1 (planned)",
                "cases C1 and C2 together want 3, there are 2 boxes that serve",
            ]
        },
    ),
    "only those who compete are named": (
        scenario(
            box("U1", STEM, arrives="Mon 12:00"),
            box("U2", STEM, arrives="Thu 12:00"),
            wants("C1", "Tue 08:00", STEM),
            wants("C2", "Wed 08:00", STEM),
            wants("C3", "Fri 08:00", STEM),
        ),
        "C2",
        {
            "planned STEM-12": [
                "box U2 arrives Thu 4 Mar 12:00, 29 h too late",
                "box U1 is promised to case C1 (planned)",
                "cases C1 and C2 together want 2, there is 1 box that serves",
            ]
        },
    ),
    "a case that wants more than there are": (
        scenario(box("U1", STEM), wants("C1", "Tue 08:00", {STEM: 3})),
        "C1",
        {"planned STEM-12": ["case C1 wants 3, there is 1 box that serves"]},
    ),
    "a spare that a planned unit took": (
        scenario(box("U1", STEM), wants("C1", "Tue 08:00", STEM, spare=STEM)),
        "C1",
        {"spare STEM-12": ["case C1 wants 2, there is 1 box that serves"]},
    ),
    "a reserved box on hold": (
        scenario(
            box("U1", STEM, hold="quarantined"),
            box("U2", STEM),
            wants("C1", "Tue 08:00", STEM, reserved_units="U1"),
        ),
        "C1",
        {"notes": ["the reservation of U1 cannot be honoured and binds nobody"]},
    ),
}
