"""Scenarios in which cases conflict over trays, with every reason as it is said."""

from __future__ import annotations

from tests.coverage_engine.build import Said, scenario, tray, wants
from tests.coverage_engine.tray_store import ADD, ALONE, BASE

CONFLICTS: dict[str, Said] = {
    "three cases that want two trays at a time": (
        scenario(
            BASE,
            tray("BASE/1"),
            tray("BASE/2"),
            wants("C0", "Mon 08:00", sets="BASE"),
            *(wants(ref, "Tue 08:00", sets="BASE") for ref in ("C1", "C2", "C3")),
        ),
        "C3",
        {
            "femur": [
                "BASE/1 serves case C1 before and is ready Tue 2 Mar 16:15, 9 h 15 min too late",
                "BASE/2 serves case C2 before and is ready Tue 2 Mar 16:15, 9 h 15 min too late",
                "cases C1, C2 and C3 cannot all be served from BASE/1 and BASE/2",
            ]
        },
    ),
    "a tray that is ready too late for all of them has no part in it": (
        scenario(
            BASE,
            tray("BASE/1"),
            tray("BASE/2", ready="Tue 12:00"),
            *(wants(ref, "Tue 08:00", sets="BASE") for ref in ("C1", "C2")),
        ),
        "C2",
        {
            "femur": [
                "BASE/2 is ready Tue 2 Mar 12:00, 5 h too late",
                "BASE/1 serves case C1 before and is ready Tue 2 Mar 16:15, 9 h 15 min too late",
                "cases C1 and C2 cannot both be served from BASE/1",
            ]
        },
    ),
    "only the trays that are scarce are in the conflict": (
        scenario(
            BASE,
            ADD,
            ALONE,
            tray("BASE/1"),
            tray("BASE/2"),
            tray("BASE/3"),
            tray("ADD/1"),
            tray("ALONE/1"),
            *(wants(ref, "Tue 08:00", sets="BASE + ADD or ALONE") for ref in ("C1", "C2", "C3")),
        ),
        "C3",
        {
            "femur": [
                "BASE/1 serves case C1 before and is ready Tue 2 Mar 16:15, 9 h 15 min too late",
                "ADD/1 serves case C1 before and is ready Tue 2 Mar 16:15, 9 h 15 min too late",
                "ALONE/1 serves case C2 before and is ready Tue 2 Mar 16:15, 9 h 15 min too late",
                "BASE/2 and BASE/3 are free, but what must be opened beside is not",
                "cases C1, C2 and C3 cannot all be served from ADD/1 and ALONE/1",
            ]
        },
    ),
    "of many trays in a conflict the first are named": (
        scenario(
            BASE,
            *(tray(f"BASE/{number}") for number in range(1, 8)),
            *(wants(f"C{number}", "Tue 08:00", sets="BASE") for number in range(1, 9)),
        ),
        "C8",
        {
            "femur": [
                *(
                    f"BASE/{number} serves case C{number} before and is ready "
                    "Tue 2 Mar 16:15, 9 h 15 min too late"
                    for number in range(1, 8)
                ),
                "cases C1, C2, C3, C4, C5, C6, C7 and C8 cannot all be served "
                "from BASE/1, BASE/2, BASE/3, BASE/4, BASE/5 and 2 more",
            ]
        },
    ),
    "two cases that need the one reamer": (
        scenario(
            BASE,
            tray("BASE/1"),
            tray("BASE/2", missing="REAM-12"),
            wants("C1", "Tue 08:00", "REAM-12", sets="BASE"),
            wants("C2", "Tue 08:00", "REAM-12", sets="BASE"),
        ),
        "C2",
        {
            "planned REAM-12": [
                "REAM-12 is missing from tray BASE/2",
                "there is no supplementary pack of REAM-12",
                "cases C1 and C2 cannot both be served with REAM-12 from BASE/1",
            ]
        },
    ),
}
