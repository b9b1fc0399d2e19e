"""A technique in the scenario format: sets, rules, checks, confirmations.

The database keeps the same JSON, so the same readers serve it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from deploy.kit.attributes import ATTRIBUTES, Value
from scheduling.coverage.scenario_fields import (
    MOST_PIECES,
    REF,
    Entry,
    at,
    code_fault,
    number_fault,
    path_fault,
    shown,
    value_fault,
)
from scheduling.coverage.values import (
    SUPPLEMENTARY,
    Check,
    Condition,
    Confirmation,
    FromPlan,
    Ladder,
    Need,
    OneOf,
    Rule,
    Selection,
    SetAsked,
    Technique,
    Term,
    Times,
)

TECHNIQUE_KEYS = ("code", "name", "sets", "rules", "checks", "confirmations")
SET_KEYS = ("purpose", "options", "when")
RULE_KEYS = ("role", "need", "select", "quantity", "when")
CHECK_KEYS = ("code", "kind", "left", "right", "when")
CONFIRMATION_KEYS = ("code", "when")
LADDER_KEYS = ("at", "from", "to", "below", "above")

Kinds = Mapping[str, str]
"""Configuration code → its kind."""


def read_technique(
    data: object, place: str, faults: list[str], configurations: Kinds | None
) -> Technique:
    """A technique from its JSON, its faults added to `faults`.

    `configurations`: the kind of every configuration; None: references to them are not judged.
    """
    entry = Entry(data, place, faults, TECHNIQUE_KEYS)
    technique = Technique(
        code=entry.code("code"),
        name=entry.text("name"),
        sets=tuple(read_set(d, p, faults, configurations) for p, d in entry.items("sets")),
        rules=tuple(read_rule(d, p, faults) for p, d in entry.items("rules")),
        checks=tuple(read_check(d, p, faults) for p, d in entry.items("checks")),
        confirmations=tuple(
            read_confirmation(d, p, faults) for p, d in entry.items("confirmations")
        ),
    )
    _once(entry, "sets", "purpose", [asked.purpose for asked in technique.sets])
    _once(entry, "checks", "code", [check.code for check in technique.checks])
    _once(entry, "confirmations", "code", [asked.code for asked in technique.confirmations])
    return technique


def read_set(data: object, place: str, faults: list[str], configurations: Kinds | None) -> SetAsked:
    entry = Entry(data, place, faults, SET_KEYS)
    options = []
    if not entry.lacks("options"):
        listed = entry.items("options")
        if entry.data["options"] == []:
            entry.fault("options", "empty: a set has at least one option")
        options = [_option(value, spot, faults, configurations) for spot, value in listed]
    return SetAsked(entry.code("purpose"), tuple(options), read_condition(entry))


def read_rule(data: object, place: str, faults: list[str]) -> Rule:
    entry = Entry(data, place, faults, RULE_KEYS)
    select = entry.inner("select", (REF, *ATTRIBUTES))
    chosen: dict[str, Selection] = {}
    for key, value in select.data.items():
        if key == REF or key in ATTRIBUTES:
            selection = _selection(value, at(select.place, key), faults)
            if selection is not None:
                chosen[key] = selection
    return Rule(
        role=entry.code("role"),
        need=Need(entry.one_of("need", [need.value for need in Need])),
        select=chosen,
        quantity=entry.whole_or("quantity", 1, least=1, most=MOST_PIECES),
        when=read_condition(entry),
    )


def read_check(data: object, place: str, faults: list[str]) -> Check:
    entry = Entry(data, place, faults, CHECK_KEYS)
    kind: Literal["equal", "at least"] = "equal"
    if entry.one_of("kind", ("equal", "at least")) == "at least":
        kind = "at least"
    judged = entry.data.get("kind") in ("equal", "at least")
    sides = [_side(entry, key, kind) if judged else () for key in ("left", "right")]
    return Check(entry.code("code"), kind, sides[0], sides[1], read_condition(entry))


def read_confirmation(data: object, place: str, faults: list[str]) -> Confirmation:
    entry = Entry(data, place, faults, CONFIRMATION_KEYS)
    return Confirmation(entry.code("code"), read_condition(entry))


def read_condition(entry: Entry) -> Condition:
    """The entry's `when`: path → the values of which it must have one.

    A list without a value could never hold, and would drop a need in silence: a fault.
    """
    when = entry.inner("when")
    condition: dict[str, tuple[Value, ...]] = {}
    for path, value in when.data.items():
        if fault := path_fault(path):
            when.fault(path, fault)
        condition[path] = _values(value, at(when.place, path), entry.faults, truth=True)
    return condition


def _once(entry: Entry, key: str, name: str, codes: list[str]) -> None:
    for index, code in enumerate(codes):
        if code and code in codes[:index]:
            place = at(at(at(entry.place, key), index), name)
            entry.faults.append(f"{place}: given twice: {shown(code)}")


def _option(
    value: object, place: str, faults: list[str], configurations: Kinds | None
) -> tuple[str, ...]:
    if not isinstance(value, list):
        faults.append(f"{place}: not a list of configuration codes: {shown(value)}")
        return ()
    if not value:
        faults.append(f"{place}: empty: an option names at least one configuration")
    codes: list[str] = []
    for index, code in enumerate(value):
        spot = at(place, index)
        if fault := code_fault(code):
            faults.append(f"{spot}: {fault}")
            continue
        if code in codes:
            faults.append(f"{spot}: given twice: {shown(code)}")
        elif configurations is not None and code not in configurations:
            faults.append(f"{spot}: no such configuration: {shown(code)}")
        elif configurations is not None and configurations[code] == SUPPLEMENTARY:
            faults.append(f"{spot}: an option names no supplementary configuration: {shown(code)}")
        codes.append(code)
    return tuple(codes)


def _values(
    value: object, place: str, faults: list[str], *, truth: bool = False
) -> tuple[Value, ...]:
    """A value, or a list of at least one."""
    if not isinstance(value, list):
        if fault := value_fault(value, truth=truth):
            faults.append(f"{place}: {fault}")
        return (value,)  # type: ignore[return-value]
    if not value:
        faults.append(f"{place}: empty: a list holds at least one value")
    for index, one in enumerate(value):
        if fault := value_fault(one, truth=truth):
            faults.append(f"{at(place, index)}: {fault}")
    return tuple(value)


def _selection(value: object, place: str, faults: list[str]) -> Selection | None:
    if not isinstance(value, dict):
        return OneOf(_values(value, place, faults))
    if "plan" in value:
        return _from_plan(value, place, faults)
    # The ladder is written under a key of its own; its bare keys are understood as well.
    if "ladder" not in value and value and all(key in LADDER_KEYS for key in value):
        return _ladder(Entry(value, place, faults, LADDER_KEYS))
    entry = Entry(value, place, faults, ("plan", "ladder"))
    if "ladder" not in entry:
        entry.fault(None, "neither a value, a list, a plan nor a ladder")
        return None
    return _ladder(entry.inner("ladder", LADDER_KEYS))


def _from_plan(value: object, place: str, faults: list[str]) -> FromPlan:
    entry = Entry(value, place, faults, ("plan",))
    if not entry.lacks("plan") and (fault := path_fault(entry.data["plan"])):
        entry.fault("plan", fault)
    return FromPlan(str(entry.data.get("plan", "")))


def _ladder(entry: Entry) -> Ladder:
    """Both ends may be left out: then every rung is in the middle, and nothing is added."""
    if "at" in entry and ("from" in entry or "to" in entry):
        entry.fault(None, "give either at, or from and to")
    ends = [_end(entry, "at")] * 2 if "at" in entry else [_end(entry, k) for k in ("from", "to")]
    return Ladder(
        start=ends[0],
        end=ends[1],
        below=entry.whole_or("below", 0, least=0, most=MOST_PIECES),
        above=entry.whole_or("above", 0, least=0, most=MOST_PIECES),
    )


def _end(entry: Entry, key: str) -> Value | FromPlan | None:
    """A number, or where the plan has it: rungs have an order, and texts have none."""
    if key not in entry:
        return None
    value = entry.data[key]
    if isinstance(value, dict):
        return _from_plan(value, at(entry.place, key), entry.faults)
    if fault := number_fault(value):
        entry.fault(key, fault)
    return value  # type: ignore[return-value]


def _side(entry: Entry, key: str, kind: Literal["equal", "at least"]) -> tuple[Term, ...]:
    if entry.lacks(key):
        return ()
    if kind == "equal":
        path = entry.data[key]
        if fault := path_fault(path):
            entry.fault(key, fault)
        return (FromPlan(str(path)),)
    if entry.data[key] == []:
        entry.fault(key, "empty: a sum has at least one term")
    return tuple(_term(value, place, entry.faults) for place, value in entry.items(key))


def _term(value: object, place: str, faults: list[str]) -> Term:
    if isinstance(value, dict):
        entry = Entry(value, place, faults, ("times", "of"))
        if not entry.lacks("times") and (fault := number_fault(entry.data["times"])):
            entry.fault("times", fault)
        if not entry.lacks("of") and (fault := path_fault(entry.data["of"])):
            entry.fault("of", fault)
        return Times(entry.data.get("times", 1), str(entry.data.get("of", "")))  # type: ignore[arg-type]
    if isinstance(value, str):
        if fault := path_fault(value):
            faults.append(f"{place}: {fault}")
        return FromPlan(value)
    if number_fault(value):
        faults.append(f"{place}: neither a number, a path nor a multiple: {shown(value)}")
    return value  # type: ignore[return-value]
