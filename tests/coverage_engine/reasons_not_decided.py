"""Scenarios in which a search gives up and leaves trays undecided, with every reason as said."""

from __future__ import annotations

from scheduling.coverage.values import Priority
from tests.coverage_engine.build import Said, pack, scenario, tray, wants
from tests.coverage_engine.tray_store import ALONE, BASE, SINGLE

OTHER_SINGLE = pack("SQ", "REAM-12", turnaround=360)

GIVES_UP: dict[str, Said] = {
    "a set that the search did not decide": (
        scenario(
            BASE,
            ALONE,
            tray("BASE/1"),
            tray("ALONE/1"),
            wants("C1", "Tue 08:00", sets="BASE or ALONE"),
            wants("C2", "Tue 08:00", sets="BASE"),
        ),
        "C2",
        {
            "femur": [
                "not decided: the search for an arrangement gave up",
                "BASE/1 serves case C1 before and is ready Tue 2 Mar 16:15, 9 h 15 min too late",
            ],
            "notes": ["not decided: the search for an arrangement gave up"],
        },
    ),
    "a pack that the search did not decide": (
        scenario(
            SINGLE,
            OTHER_SINGLE,
            tray("SP/1"),
            tray("SQ/1", ready="Mon 12:00"),
            wants("C1", "Mon 13:30", "REAM-12", priority=Priority.URGENT),
            wants("C2", "Mon 10:00", "REAM-12"),
        ),
        "C2",
        {
            "planned REAM-12": [
                "not decided: the search for an arrangement gave up",
                "none of the case's trays holds REAM-12",
                "SQ/1 is ready Mon 1 Mar 12:00, 3 h too late",
                "SP/1 is promised to case C1 soon after",
            ],
            "notes": ["not decided: the search for an arrangement gave up"],
        },
    ),
    "more of an instrument that the search did not decide": (
        scenario(
            SINGLE,
            OTHER_SINGLE,
            tray("SP/1"),
            tray("SQ/1", ready="Mon 12:00"),
            wants("C1", "Mon 13:30", "REAM-12", priority=Priority.URGENT),
            wants("C2", "Mon 10:00", "REAM-12", contingency={"REAM-12": 2}),
        ),
        "C2",
        {
            f"{need} REAM-12": [
                "not decided: the search for an arrangement gave up",
                "none of the case's trays holds REAM-12",
                "SQ/1 is ready Mon 1 Mar 12:00, 3 h too late",
                "SP/1 is promised to case C1 soon after",
            ]
            for need in ("planned", "contingency")
        }
        | {"notes": ["not decided: the search for an arrangement gave up"]},
    ),
}
