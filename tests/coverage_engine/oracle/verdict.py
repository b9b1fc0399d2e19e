"""The oracle's answer for a whole scenario."""

from __future__ import annotations

from typing import Any

from tests.coverage_engine.oracle.clock import Clock
from tests.coverage_engine.oracle.implants import Claim, claims_of_item, time_key
from tests.coverage_engine.oracle.needs import Needs, Reader
from tests.coverage_engine.oracle.trays import TrayPuzzle, TrayResult

Entry = dict[str, Any]
PRIORITIES = ("immediate", "urgent", "expedited", "elective")


def expect(scenario: Entry) -> dict[str, Entry]:
    """By case, in time order: verdict, faults, questions, sets, packs, lines, unheeded.

    `lines` are sorted by need and item and carry counts, units (sorted) and leans_on (sorted
    pairs of unit and case); `unheeded` are the reservations that were not honoured.
    """
    clock = Clock(scenario["site"])
    cases = scenario.get("cases", [])
    needs = {case["ref"]: Reader(scenario, case).read() for case in cases}
    precedence = sorted(
        cases,
        key=lambda case: (
            PRIORITIES.index(case.get("priority", "elective")),
            *time_key(clock, case),
        ),
    )
    shelf = {unit["unit"]: unit for unit in scenario.get("shelf", [])}
    claims: list[tuple[str, Claim]] = []
    unheeded: list[tuple[str, str]] = []
    suppliers = {one["code"]: one for one in scenario.get("suppliers", [])}
    for item in scenario.get("implants", []):
        units = {code: unit for code, unit in shelf.items() if unit["implant"] == item["ref"]}
        decided, reported = claims_of_item(
            clock, item, suppliers.get(item.get("supplier")), units, precedence, needs
        )
        claims += [(item["ref"], claim) for claim in decided]
        unheeded += reported
    trays = TrayPuzzle(scenario, clock, precedence, needs).solve()
    unheeded += trays.reported
    return {
        case["ref"]: _case(case, needs[case["ref"]], claims, trays, unheeded)
        for case in sorted(cases, key=lambda case: time_key(clock, case))
    }


def _case(
    case: Entry,
    needs: Needs,
    claims: list[tuple[str, Claim]],
    trays: TrayResult,
    unheeded: list[tuple[str, str]],
) -> Entry:
    ref = case["ref"]
    assert trays.shown is not None
    bundle = trays.shown.bundles[ref]
    sets = [
        {
            "purpose": asked["purpose"],
            "status": status,
            "option": list(asked["options"][chosen[0]]) if chosen else [],
            "trays": list(chosen[1]) if chosen else [],
        }
        for asked, status, chosen in zip(needs.sets, trays.sets[ref], bundle.sets, strict=True)
    ]
    lines = [
        _line(ref, need, item, quantity, claims, trays)
        for need in ("contingency", "planned", "spare")
        for item, quantity in sorted(getattr(needs, need).items())
    ]
    return {
        "verdict": _verdict(needs, sets, lines),
        "faults": sorted(needs.faults),
        "questions": sorted(needs.questions),
        "sets": sets,
        "packs": list(bundle.packs),
        "lines": lines,
        "unheeded": sorted(code for of, code in unheeded if of == ref),
    }


def _line(
    ref: str,
    need: str,
    item: str,
    quantity: int,
    claims: list[tuple[str, Claim]],
    trays: TrayResult,
) -> Entry:
    line: Entry = {"need": need, "item": item, "quantity": quantity}
    counts = dict.fromkeys(("held", "conditional", "shared", "short"), 0)
    mine = [c for of, c in claims if of == item and c.case["ref"] == ref and c.level == need]
    if (ref, need, item) in trays.lines:
        counts[trays.lines[ref, need, item]] = quantity
    else:
        for claim in mine:
            counts[claim.status] += 1
    assert sum(counts.values()) == quantity
    return {
        **line,
        **counts,
        "units": sorted(c.unit for c in mine if c.unit is not None),
        "leans_on": sorted(c.leans_on for c in mine if c.leans_on is not None),
    }


def _verdict(needs: Needs, sets: list[Entry], lines: list[Entry]) -> str:
    planned = [line for line in lines if line["need"] == "planned"]
    contingency = [line for line in lines if line["need"] == "contingency"]
    spare = [line for line in lines if line["need"] == "spare"]

    def not_held(some: list[Entry]) -> bool:
        return any(line["held"] < line["quantity"] for line in some)

    if (
        needs.faults
        or any(each["status"] == "short" for each in sets)
        or any(line["short"] for line in planned)
    ):
        return "not covered"
    if needs.questions:
        return "not known"
    if (
        any(each["status"] == "conditional" for each in sets)
        or any(line["conditional"] for line in planned)
        or not_held(contingency)
    ):
        return "at risk"
    return "covered, no spare" if not_held(spare) else "covered"


def projection(answer: dict[str, Entry]) -> dict[str, Entry]:
    """The answer as an expected file says it."""
    return {
        ref: {
            "verdict": case["verdict"],
            "faults": case["faults"],
            "questions": case["questions"],
            "sets": {each["purpose"]: each["status"] for each in case["sets"]},
            "not_held": [
                {
                    key: line[key]
                    for key in (
                        "need",
                        "item",
                        "quantity",
                        "held",
                        "conditional",
                        "shared",
                        "short",
                    )
                }
                for line in case["lines"]
                if line["held"] < line["quantity"]
            ],
        }
        for ref, case in answer.items()
    }
