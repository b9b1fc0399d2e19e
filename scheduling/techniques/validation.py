"""Refuse a technique that could not be explained: a rule that can never select anything, a path
to nothing, a ladder on a text, an option that names no set of trays.

Each function finds all faults of one part, as (field, what is wrong and the mend).  Pure: the
catalogue is a value.  A bare fact may have any name: only the plan says whether it is stated.
"""

from __future__ import annotations

from collections.abc import Iterable

from deploy.kit.attributes import ATTRIBUTES, Value
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
from scheduling.techniques.catalogue import KnownCatalogue, Stated

Faults = list[tuple[str, str]]
"""(field, what is wrong)"""


def rule_faults(rule: Rule, known: KnownCatalogue) -> Faults:
    """A role without a row, or a selection that no row of the role can ever meet."""
    faults: Faults = []
    stated = known.of_role(rule.role)
    if stated is None:
        faults.append(("role", f"the catalogue has no “{rule.role}”"))
    elif rule.need is Need.SPARE and rule.role not in known.implants:
        faults.append(("need", "a spare is kept of implants only"))
    for key, selection in rule.select.items():
        faults += [
            ("select", f"{_label(key)}: {fault}")
            for fault in _selection_faults(key, selection, rule.role, stated, known)
        ]
    return faults + _condition_faults(rule.when, known)


def set_faults(asked: SetAsked, known: KnownCatalogue) -> Faults:
    """No option, or an option with an unknown, supplementary or repeated configuration."""
    faults: Faults = []
    if not asked.options:
        faults.append(("options", "a set has at least one option"))
    for number, option in enumerate(asked.options, start=1):
        for code in dict.fromkeys(option):
            if option.count(code) > 1:
                faults.append(("options", f"option {number}: {code} stands in it twice"))
            if code not in known.kinds:
                faults.append(("options", f"option {number}: there is no configuration {code}"))
            elif known.kinds[code] == SUPPLEMENTARY:
                faults.append(
                    ("options", f"option {number}: {code} is a supplementary pack, not a set")
                )
    return faults + _condition_faults(asked.when, known)


def check_faults(check: Check, known: KnownCatalogue) -> Faults:
    """`equal` compares one path with one path; `at least` compares sums of numbers."""
    faults: Faults = []
    for field, terms in (("left", check.left), ("right", check.right)):
        if check.kind == "equal":
            if len(terms) != 1 or not isinstance(terms[0], FromPlan):
                faults.append((field, "“equal” compares one path with one path"))
                continue
        elif not terms:
            faults.append((field, "a sum has at least one term"))
        faults += [(field, fault) for fault in _term_faults(terms, check.kind, known)]
    if check.kind == "equal" and not faults:
        kinds = {
            _is_number_at(term.path)
            for term in (*check.left, *check.right)
            if isinstance(term, FromPlan)
        } - {None}
        if len(kinds) > 1:
            faults.append(("right", "a number is never equal to a text"))
    return faults + _condition_faults(check.when, known)


def confirmation_faults(asked: Confirmation, known: KnownCatalogue) -> Faults:
    return _condition_faults(asked.when, known)


def technique_faults(technique: Technique, known: KnownCatalogue) -> list[str]:
    """All faults with their places: `rule 3, select: ...`."""
    parts: Iterable[tuple[str, int, Faults]] = (
        *(("set", i, set_faults(one, known)) for i, one in enumerate(technique.sets, 1)),
        *(("rule", i, rule_faults(one, known)) for i, one in enumerate(technique.rules, 1)),
        *(("check", i, check_faults(one, known)) for i, one in enumerate(technique.checks, 1)),
        *(
            ("confirmation", i, confirmation_faults(one, known))
            for i, one in enumerate(technique.confirmations, 1)
        ),
    )
    return [
        f"{part} {number}, {field}: {fault}"
        for part, number, faults in parts
        for field, fault in faults
    ]


# -- selections -------------------------------------------------------------------------------


def _selection_faults(
    key: str, selection: Selection, role: str, stated: Stated | None, known: KnownCatalogue
) -> list[str]:
    if key != "ref" and key not in ATTRIBUTES:
        return [f"no such attribute (known: ref, {', '.join(ATTRIBUTES)})"]
    faults = []
    if stated is not None and key not in stated:
        faults.append(f"no {role} in the catalogue has one")
    if isinstance(selection, Ladder):
        if not _is_number(key):
            return [*faults, "is a text, and a text has no rungs; name the values instead"]
        for end in (selection.start, selection.end):
            if isinstance(end, str):
                faults.append(f"“{end}” is a text, and a rung is a number")
    for path in _paths_of(selection):
        faults += _path_faults(path, known)
        is_number = _is_number_at(path)
        if is_number is not None and is_number != _is_number(key):
            faults.append(f"{path} is {_kind(is_number)}, this is {_kind(_is_number(key))}")
    if isinstance(selection, OneOf) and stated is not None and key in stated:
        faults += _value_faults(role, key, selection.values, stated)
    return faults


def _value_faults(role: str, key: str, values: tuple[Value, ...], stated: Stated) -> list[str]:
    """Not one of the values exists: a slip of the pen.  Some may come later."""
    if any(value in stated.get(key, ()) for value in values):
        return []
    said = ", ".join(str(value) for value in values)
    there = ", ".join(sorted(str(value) for value in list(stated.get(key, ()))[:12]))
    return [f"no {role} in the catalogue has {said} (there is {there})"]


def _paths_of(selection: Selection) -> list[str]:
    if isinstance(selection, FromPlan):
        return [selection.path]
    if isinstance(selection, Ladder):
        ends = [end.path for end in (selection.start, selection.end) if isinstance(end, FromPlan)]
        return list(dict.fromkeys(ends))
    return []


# -- paths, terms, conditions -----------------------------------------------------------------


def _path_faults(path: str, known: KnownCatalogue) -> list[str]:
    role, dot, key = path.rpartition(".")
    if not dot:
        return []
    if role not in known.implants:
        return [f"{path}: the catalogue has no implant “{role}” that a plan could name"]
    if key != "ref" and key not in ATTRIBUTES:
        return [f"{path}: no such attribute (known: ref, {', '.join(ATTRIBUTES)})"]
    if key not in known.implants[role]:
        return [f"{path}: no {role} in the catalogue has a {_label(key)}"]
    return []


def _term_faults(terms: tuple[Term, ...], kind: str, known: KnownCatalogue) -> list[str]:
    faults = []
    for term in terms:
        if isinstance(term, FromPlan | Times):
            faults += _path_faults(term.path, known)
            if kind == "at least" and _is_number_at(term.path) is False:
                faults.append(f"{term.path} is a text, and only numbers add up")
    return faults


def _condition_faults(when: Condition, known: KnownCatalogue) -> Faults:
    faults = []
    for path, values in when.items():
        found = _path_faults(path, known)
        role, dot, key = path.rpartition(".")
        if dot and not found:
            found = [
                f"{path}: {fault}"
                for fault in _value_faults(role, key, values, known.implants[role])
            ]
        faults += [("when", fault) for fault in found]
    return faults


def _is_number(key: str) -> bool:
    return key in ATTRIBUTES and ATTRIBUTES[key].number


def _is_number_at(path: str) -> bool | None:
    """Whether a component's attribute is a number; None for a fact, which may be anything, and
    for an attribute that does not exist."""
    role, _, key = path.rpartition(".")
    return _is_number(key) if role and (key == "ref" or key in ATTRIBUTES) else None


def _kind(is_number: bool) -> str:
    return "a number" if is_number else "a text"


def _label(key: str) -> str:
    return ATTRIBUTES[key].label if key in ATTRIBUTES else key
