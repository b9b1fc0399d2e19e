"""Theatre's rows in the table of doors, and the addresses that they need."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Statuses = dict[str, int]

RECORDS = tuple(f"implant_record{what}" for what in ("", "_pdf", "_workbook", "_fhir"))
ACTS = tuple(f"theatre_{what}" for what in ("open", "record", "start", "end"))
OUTSIDE = ("outside", "outside_void")
TEAM = ("coordinator", "theatre_team")


def rows(
    each: Callable[..., Statuses], one_case: Statuses, all_cases: Statuses
) -> dict[str, dict[str, Statuses]]:
    start_and_end = {"post": each(*TEAM, say=302, stranger=404)}
    # No check and no box of theirs is named: there is none.
    none_is_there = {"post": each(*TEAM, "stranger", say=404)}
    return {
        "theatre": {
            "get": each(*TEAM, "stranger"),
            "post": each(*TEAM, "stranger", say=302),
        },
        "in_theatre": {
            "get": each(*TEAM, stranger=404),
            "post": each(*TEAM, say=302, stranger=404),
        },
        "theatre_open": none_is_there,
        "theatre_record": none_is_there,
        "outside_void": none_is_there,
        # Nothing was typed: the page comes back with what is missing.
        "outside": {
            "get": each(*TEAM, stranger=404),
            "post": each(*TEAM, say=400, stranger=404),
        },
        "theatre_start": start_and_end,
        "theatre_end": start_and_end,
        **{name: {"get": one_case} for name in RECORDS},
        "trace": {"get": all_cases},
        "used": {"get": all_cases},
        "used_workbook": {"get": all_cases},
        "case_history": {"get": one_case},
    }


def addresses(case: int) -> dict[str, list[Any]]:
    return {name: [case] for name in ("in_theatre", "case_history", *OUTSIDE, *ACTS, *RECORDS)}
