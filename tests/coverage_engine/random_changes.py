"""Random changes of a scenario in the file format: `changed(entry, rng)` gives another scenario."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from datetime import datetime, timedelta
from random import Random

from tests.coverage_engine.random_catalogue import Entry


def changed(entry: Entry, rng: Random) -> Entry:
    """One thing different; now and then several."""
    entry = deepcopy(entry)
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        rng.choice(CHANGES)(entry, rng)
    return entry


def later(text: str, rng: Random) -> str:
    """Some half hours earlier or later; out of the hours in which clocks change."""
    moment = datetime.fromisoformat(text) + timedelta(minutes=30 * rng.randint(-12, 24))
    if moment.weekday() == 6 and 1 <= moment.hour <= 3:
        moment = moment.replace(hour=4)
    return moment.isoformat(timespec="minutes")


def a_case(entry: Entry, rng: Random) -> Entry:
    case: Entry = rng.choice(entry["cases"])
    return case


def move_a_case(entry: Entry, rng: Random) -> None:
    case = a_case(entry, rng)
    # Not to before now: a case that is over is another matter.
    case["start"] = max(later(case["start"], rng), entry["site"]["now"])


def lengthen_a_case(entry: Entry, rng: Random) -> None:
    a_case(entry, rng)["minutes"] = rng.choice((30, 90, 240, 600))


def hurry_a_case(entry: Entry, rng: Random) -> None:
    a_case(entry, rng)["priority"] = rng.choice(("immediate", "urgent", "expedited", "elective"))


def plan_another_stem(entry: Entry, rng: Random) -> None:
    stems = [item for item in entry["implants"] if item["role"] == "stem"]
    stem = rng.choice(stems)
    a_case(entry, rng)["components"]["stem"] = {"size": stem["size"], "length": stem["length"]}


def cancel_a_case(entry: Entry, rng: Random) -> None:
    if len(entry["cases"]) > 1:
        entry["cases"].remove(a_case(entry, rng))


def book_a_case(entry: Entry, rng: Random) -> None:
    taken = {case["ref"] for case in entry["cases"]}
    ref = next(f"N{n}" for n in range(99) if f"N{n}" not in taken)
    new = deepcopy(a_case(entry, rng)) | {"ref": ref}
    new.pop("reserved_trays", None)
    new.pop("reserved_units", None)
    entry["cases"].append(new)


def drop_reservations(entry: Entry, rng: Random) -> None:
    case = a_case(entry, rng)
    case.pop(rng.choice(("reserved_trays", "reserved_units")), None)


def reserve_a_tray(entry: Entry, rng: Random) -> None:
    if entry["trays"]:
        code = rng.choice(entry["trays"])["code"]
        reserved = a_case(entry, rng).setdefault("reserved_trays", [])
        if code not in reserved:
            reserved.append(code)


def reserve_a_unit(entry: Entry, rng: Random) -> None:
    if entry["shelf"]:
        code = rng.choice(entry["shelf"])["unit"]
        reserved = a_case(entry, rng).setdefault("reserved_units", [])
        if code not in reserved:
            reserved.append(code)


def touch_a_tray(entry: Entry, rng: Random) -> None:
    if entry["trays"]:
        tray = rng.choice(entry["trays"])
        now = entry["site"]["now"]
        for key in ("ready", "arrives", "withdrawn"):
            tray.pop(key, None)
        state: Entry = rng.choice(
            ({"ready": later(now, rng)}, {"arrives": later(now, rng)}, {"withdrawn": True})
        )
        tray.update(state)


def fill_a_tray(entry: Entry, rng: Random) -> None:
    if entry["trays"]:
        rng.choice(entry["trays"]).pop("missing", None)


def take_a_unit(entry: Entry, rng: Random) -> None:
    reserved = {code for case in entry["cases"] for code in case.get("reserved_units", [])}
    free = [unit for unit in entry["shelf"] if unit["unit"] not in reserved]
    if free:
        entry["shelf"].remove(rng.choice(free))


def bring_a_unit(entry: Entry, rng: Random) -> None:
    taken = {unit["unit"] for unit in entry["shelf"]}
    code = next(f"N{n}" for n in range(99) if f"N{n}" not in taken)
    item = rng.choice(entry["implants"])["ref"]
    entry["shelf"].append({"unit": code, "implant": item, "expiry": "2031-12-31"})


def hold_a_unit(entry: Entry, rng: Random) -> None:
    if entry["shelf"]:
        rng.choice(entry["shelf"])["hold"] = "recalled"


def turn_a_kind_round_faster(entry: Entry, rng: Random) -> None:
    configuration = rng.choice(entry["configurations"])
    configuration["turnaround_minutes"] = rng.choice((60, 240, 600))
    configuration.pop("fast_track_minutes", None)


def buy_another_way(entry: Entry, rng: Random) -> None:
    implant = rng.choice(entry["implants"])
    implant["replaced_on_use"] = not implant.get("replaced_on_use", False)
    implant["lead_days"] = rng.randint(0, 2)


def drop_a_rule(entry: Entry, rng: Random) -> None:
    technique = rng.choice(entry["techniques"])
    if technique["rules"]:
        technique["rules"].remove(rng.choice(technique["rules"]))


def let_time_pass(entry: Entry, rng: Random) -> None:
    """To no later than the first start, so that no case is over."""
    first = min(case["start"] for case in entry["cases"])
    entry["site"]["now"] = min(max(later(entry["site"]["now"], rng), entry["site"]["now"]), first)


CHANGES: tuple[Callable[[Entry, Random], None], ...] = (
    move_a_case,
    move_a_case,
    lengthen_a_case,
    hurry_a_case,
    plan_another_stem,
    cancel_a_case,
    book_a_case,
    drop_reservations,
    reserve_a_tray,
    reserve_a_unit,
    touch_a_tray,
    touch_a_tray,
    fill_a_tray,
    take_a_unit,
    bring_a_unit,
    hold_a_unit,
    turn_a_kind_round_faster,
    buy_another_way,
    drop_a_rule,
    let_time_pass,
)
