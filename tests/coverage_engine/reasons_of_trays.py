"""Scenarios in which sets and instruments are not held, with every reason as it is said."""

from __future__ import annotations

from scheduling.coverage.values import DepartmentStage, FromPlan, Need, Priority
from tests.coverage_engine.build import (
    Said,
    case,
    implant,
    kind,
    ladder,
    rule,
    scenario,
    site,
    technique,
    tray,
    wants,
)
from tests.coverage_engine.tray_store import ADD, ALONE, BASE, FAST, LACKS_IT, SINGLE

ASKS = wants("C1", "Tue 08:00", sets="BASE")
NEEDS_THE_REAMER = wants("C1", "Tue 08:00", "REAM-12", sets="BASE")

TRAYS: dict[str, Said] = {
    "a loan still to come": (
        scenario(BASE, tray("BASE/1", arrives="Mon 08:30"), ASKS),
        "C1",
        {"femur": ["depends on loan BASE/1, due Mon 1 Mar 08:30, ready Mon 1 Mar 16:30"]},
    ),
    "a loan that serves another case long before": (
        scenario(
            BASE, tray("BASE/1", arrives="Mon 08:30"), ASKS, wants("C2", "Thu 08:00", sets="BASE")
        ),
        "C2",
        {"femur": ["depends on loan BASE/1, due Mon 1 Mar 08:30, ready Tue 2 Mar 16:15"]},
    ),
    "a pack still to come that serves another case long before": (
        scenario(
            SINGLE,
            tray("SP/1", arrives="Mon 08:30"),
            wants("C1", "Tue 08:00", "REAM-12"),
            wants("C2", "Wed 08:00", "REAM-12"),
        ),
        "C2",
        {"planned REAM-12": ["depends on loan SP/1, due Mon 1 Mar 08:30, ready Tue 2 Mar 16:15"]},
    ),
    "a loan that must be hurried": (
        scenario(FAST, tray("BASE/1", arrives="Tue 01:00"), ASKS),
        "C1",
        {"femur": ["depends on loan BASE/1, due Tue 2 Mar 01:00, ready Tue 2 Mar 05:00"]},
    ),
    "fast track between two cases": (
        scenario(FAST, tray("BASE/1"), ASKS, wants("C2", "Tue 14:00", sets="BASE")),
        "C2",
        {
            "femur": [
                "depends on fast track of BASE/1 after case C1: "
                "ready Tue 2 Mar 12:15, needed by Tue 2 Mar 13:00"
            ]
        },
    ),
    "fast track of a tray past its sterile date": (
        scenario(
            FAST,
            tray("BASE/1", sterile_until="Mon 08:00"),
            wants("C1", "Mon 10:00", sets="BASE"),
        ),
        "C1",
        {
            "femur": [
                "depends on fast track of BASE/1: ready Mon 1 Mar 08:00, needed by Mon 1 Mar 09:00"
            ],
            "notes": [
                "BASE/1 is sterile until Mon 1 Mar 08:00: to be reprocessed by Mon 1 Mar 09:00"
            ],
        },
    ),
    "no tray of the kind": (
        scenario(BASE, ASKS),
        "C1",
        {"femur": ["there is no tray of BASE"]},
    ),
    "tray by tray, the nearest first": (
        scenario(
            BASE,
            tray("BASE/1", withdrawn=True, note="handle bent"),
            tray("BASE/2", withdrawn=True),
            tray("BASE/3", ready="Tue 11:00"),
            tray("BASE/4", ready="Tue 08:10"),
            tray("BASE/5", arrives="Mon 05:00"),
            ASKS,
        ),
        "C1",
        {
            "femur": [
                "loan BASE/5 is overdue since Mon 1 Mar 05:00",
                "BASE/4 is ready Tue 2 Mar 08:10, 1 h 10 min too late",
                "BASE/3 is ready Tue 2 Mar 11:00, 4 h too late",
                "BASE/1 is on hold: handle bent",
                "BASE/2 is on hold",
            ]
        },
    ),
    "option by option": (
        scenario(
            BASE,
            ALONE,
            tray("BASE/1", ready="Tue 07:40"),
            wants("C1", "Tue 08:00", sets="ALONE or BASE + ADD"),
        ),
        "C1",
        {
            "femur": [
                "there is no tray of ALONE",
                "BASE/1 is ready Tue 2 Mar 07:40, 40 min too late",
                "there is no tray of ADD",
            ]
        },
    ),
    "a tray that never comes back": (
        scenario(
            BASE,
            tray("BASE/1"),
            ASKS,
            wants("C2", "Wed 08:00", sets="BASE"),
            at_site=site(opening={}),
        ),
        "C2",
        {
            "femur": [
                "BASE/1 serves case C1 before and is ready never",
                "cases C1 and C2 cannot both be served from BASE/1",
            ]
        },
    ),
    "a tray that serves another case before": (
        scenario(BASE, tray("BASE/1"), ASKS, wants("C2", "Tue 17:00", sets="BASE")),
        "C2",
        {
            "femur": [
                "BASE/1 serves case C1 before and is ready Tue 2 Mar 16:15, 15 min too late",
                "cases C1 and C2 cannot both be served from BASE/1",
            ]
        },
    ),
    "a tray that is promised to a later case": (
        scenario(
            BASE,
            tray("BASE/1"),
            ASKS,
            wants("C2", "Tue 12:00", sets="BASE", priority=Priority.URGENT),
        ),
        "C1",
        {
            "femur": [
                "BASE/1 is promised to case C2 soon after",
                "cases C1 and C2 cannot both be served from BASE/1",
            ]
        },
    ),
    "a tray that a later case would have by fast track only": (
        scenario(
            FAST,
            tray("BASE/1"),
            ASKS,
            wants("C2", "Tue 14:30", sets="BASE", priority=Priority.URGENT),
        ),
        "C1",
        {
            "femur": [
                "BASE/1 is promised to case C2 soon after",
                "cases C1 and C2 cannot both be served from BASE/1",
            ]
        },
    ),
    "a pack that a later case would have by fast track only": (
        scenario(
            SINGLE,
            tray("SP/1"),
            wants("C1", "Tue 08:00", "REAM-12"),
            wants("C2", "Tue 14:30", "REAM-12", priority=Priority.URGENT),
        ),
        "C1",
        {
            "planned REAM-12": [
                "none of the case's trays holds REAM-12",
                "SP/1 is promised to case C2 soon after",
                "cases C1 and C2 cannot both be served with REAM-12 from SP/1",
            ]
        },
    ),
    "a tray that serves another set of the case": (
        scenario(
            BASE,
            tray("BASE/1"),
            tray("BASE/2", withdrawn=True),
            wants("C1", "Tue 08:00", sets=("BASE", "BASE")),
        ),
        "C1",
        {"cup": ["BASE/1 serves this case's set for femur", "BASE/2 is on hold"]},
    ),
    "a free tray, without what is opened beside it": (
        scenario(BASE, ADD, tray("BASE/1"), wants("C1", "Tue 08:00", sets="BASE + ADD")),
        "C1",
        {
            "femur": [
                "there is no tray of ADD",
                "BASE/1 is free, but what must be opened beside is not",
            ]
        },
    ),
    "free trays, without what is opened beside them": (
        scenario(
            BASE,
            ADD,
            tray("BASE/1"),
            tray("BASE/2"),
            tray("ADD/1", ready="Tue 08:00"),
            wants("C1", "Tue 08:00", sets="BASE + ADD"),
        ),
        "C1",
        {
            "femur": [
                "ADD/1 is ready Tue 2 Mar 08:00, 1 h too late",
                "BASE/1 and BASE/2 are free, but what must be opened beside is not",
            ]
        },
    ),
    "a reamer that is missing from the tray": (
        scenario(BASE, LACKS_IT, NEEDS_THE_REAMER),
        "C1",
        {
            "planned REAM-12": [
                "REAM-12 is missing from tray BASE/1",
                "there is no supplementary pack of REAM-12",
            ]
        },
    ),
    "a reamer that no tray of the case holds": (
        scenario(
            ADD,
            tray("ADD/1"),
            SINGLE,
            tray("SP/1", ready="Tue 07:30"),
            wants("C1", "Tue 08:00", "REAM-12", sets="ADD"),
        ),
        "C1",
        {
            "planned REAM-12": [
                "none of the case's trays holds REAM-12",
                "SP/1 is ready Tue 2 Mar 07:30, 30 min too late",
            ]
        },
    ),
    "fewer in the trays than are wanted": (
        scenario(BASE, tray("BASE/1"), wants("C1", "Tue 08:00", {"REAM-12": 2}, sets="BASE")),
        "C1",
        {
            "planned REAM-12": [
                "the case's trays hold 1 of the 2 REAM-12 wanted",
                "there is no supplementary pack of REAM-12",
            ]
        },
    ),
    "one of two is missing from a tray": (
        scenario(
            kind("BASE", "REAM-12 REAM-12"),
            LACKS_IT,
            wants("C1", "Tue 08:00", {"REAM-12": 2}, sets="BASE"),
        ),
        "C1",
        {
            "planned REAM-12": [
                "REAM-12 is missing from tray BASE/1",
                "the case's trays hold 1 of the 2 REAM-12 wanted",
                "there is no supplementary pack of REAM-12",
            ]
        },
    ),
    "the case's own packs count with its trays": (
        scenario(
            SINGLE,
            tray("SP/1"),
            wants("C1", "Tue 08:00", "REAM-12", contingency={"REAM-12": 2}),
        ),
        "C1",
        {"contingency REAM-12": ["the case's trays hold 1 of the 2 REAM-12 wanted"]},
    ),
    "too few packs": (
        scenario(
            BASE,
            LACKS_IT,
            SINGLE,
            tray("SP/1"),
            wants("C1", "Tue 08:00", {"REAM-12": 2}, sets="BASE"),
        ),
        "C1",
        {
            "planned REAM-12": [
                "REAM-12 is missing from tray BASE/1",
                "SP/1 is free, but that is too few of REAM-12",
            ]
        },
    ),
    "a pack from which its reamer is missing": (
        scenario(BASE, LACKS_IT, SINGLE, tray("SP/1", missing="REAM-12"), NEEDS_THE_REAMER),
        "C1",
        {
            "planned REAM-12": [
                "REAM-12 is missing from tray BASE/1",
                "REAM-12 is missing from pack SP/1",
            ]
        },
    ),
    "a reamer in a pack still to come": (
        scenario(BASE, LACKS_IT, SINGLE, tray("SP/1", arrives="Mon 08:30"), NEEDS_THE_REAMER),
        "C1",
        {"planned REAM-12": ["depends on loan SP/1, due Mon 1 Mar 08:30, ready Mon 1 Mar 16:30"]},
    ),
    "the reamers of a set that is short": (
        scenario(BASE, tray("BASE/1", ready="Tue 08:00"), NEEDS_THE_REAMER),
        "C1",
        {
            "femur": ["BASE/1 is ready Tue 2 Mar 08:00, 1 h too late"],
            "planned REAM-12": ["follows from the set: femur"],
        },
    ),
    "the reamers of a set of which there is no tray": (
        scenario(BASE, NEEDS_THE_REAMER),
        "C1",
        {
            "femur": ["there is no tray of BASE"],
            "planned REAM-12": ["follows from the set: femur"],
        },
    ),
    "a reserved tray that does not serve": (
        scenario(
            BASE,
            tray("BASE/1"),
            tray("BASE/2", withdrawn=True),
            wants("C1", "Tue 08:00", sets="BASE", reserved_trays="BASE/2"),
        ),
        "C1",
        {"notes": ["the reservation of BASE/2 cannot be honoured and binds nobody"]},
    ),
    "a tray to be reprocessed": (
        scenario(BASE, tray("BASE/1", sterile_until="Tue 09:00"), ASKS),
        "C1",
        {
            "notes": [
                "BASE/1 is sterile until Tue 2 Mar 09:00: to be reprocessed by Tue 2 Mar 07:00"
            ]
        },
    ),
    "a ladder that the catalogue cuts short": (
        scenario(
            implant("STEM-12", size=12),
            technique(
                rule("stem", Need.CONTINGENCY, size=ladder(on=FromPlan("stem.size"), above=2))
            ),
            case("C1", plan={"stem": {"size": 12}}),
        ),
        "C1",
        {
            "planned STEM-12": ["no box of STEM-12 is here or on order"],
            "notes": ["stem: 2 above by size asked for, the catalogue holds none"],
        },
    ),
    "times as the clocks on the walls show them": (
        scenario(
            BASE,
            tray("BASE/1", arrives="Mon 5 Jul 08:30"),
            wants("C1", "Tue 6 Jul 08:00", sets="BASE"),
            at_site=site(timezone="Europe/London"),
        ),
        "C1",
        {"femur": ["depends on loan BASE/1, due Mon 5 Jul 09:30, ready Mon 5 Jul 17:30"]},
    ),
    "more falls due together than sterile services can take": (
        scenario(
            BASE,
            tray("BASE/1"),
            tray("BASE/2"),
            *(wants(ref, "Tue 08:00", sets="BASE") for ref in ("C1", "C2")),
            *(wants(ref, "Tue 17:30", sets="BASE") for ref in ("C3", "C4")),
            at_site=site(department=(DepartmentStage("bench", 1, 30),)),
        ),
        "C4",
        {
            "femur": [
                "sterile services is full: BASE/2 waits 30 min, longest at bench, "
                "and is ready Tue 2 Mar 16:45, 15 min too late"
            ]
        },
    ),
}
