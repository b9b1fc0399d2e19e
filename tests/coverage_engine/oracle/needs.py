"""From one case's plan to what it needs, what is wrong with it and what is open."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

Entry = dict[str, Any]
NOT_SAID = object()


class Unknown(Exception):
    """A path without a value.  `question` is None where a fault already says why."""

    def __init__(self, question: str | None) -> None:
        super().__init__(question)
        self.question = question


@dataclass
class Needs:
    faults: set[str] = field(default_factory=set)
    questions: set[str] = field(default_factory=set)
    sets: list[Entry] = field(default_factory=list)
    planned: dict[str, int] = field(default_factory=dict)
    contingency: dict[str, int] = field(default_factory=dict)
    spare: dict[str, int] = field(default_factory=dict)


class Reader:
    """Reads one case against the catalogue."""

    def __init__(self, scenario: Entry, case: Entry) -> None:
        self.case = case
        self.technique = next(t for t in scenario["techniques"] if t["code"] == case["technique"])
        self.implants = scenario.get("implants", [])
        self.items = self.implants + scenario.get("instruments", [])
        self.implant_refs = {item["ref"] for item in self.implants}
        self.found: dict[str, Entry | None] = {}
        self.needs = Needs()

    def read(self) -> Needs:
        self._match_components()
        for asked in self.technique.get("sets", []):
            if self._holds(asked):
                self.needs.sets.append(asked)
        self._apply_rules()
        for check in self.technique.get("checks", []):
            if self._holds(check):
                self._check(check)
        for confirmation in self.technique.get("confirmations", []):
            if self._holds(confirmation) and confirmation["code"] not in self.case.get(
                "confirmed", []
            ):
                self.needs.questions.add(confirmation["code"])
        if not self.needs.sets and not self.needs.planned:
            self.needs.faults.add("nothing is asked for")
        return self.needs

    # -- the plan -------------------------------------------------------------------------------

    def _match_components(self) -> None:
        for role, component in self.case.get("components", {}).items():
            wanted = {key: value for key, value in component.items() if key != "quantity"}
            matches = [
                item
                for item in self.implants
                if item["role"] == role
                and all(key in item and _same(item[key], wanted[key]) for key in wanted)
            ]
            if len(matches) == 1:
                self.found[role] = matches[0]
                ref = matches[0]["ref"]
                quantity = component.get("quantity", 1)
                self.needs.planned[ref] = self.needs.planned.get(ref, 0) + quantity
            else:
                self.found[role] = None
                what = "ambiguous" if matches else "not in catalogue"
                self.needs.faults.add(f"{role}: {what}")

    def _value(self, path: str) -> Any:
        if "." in path:
            role, attribute = path.split(".")
            if role not in self.found:
                raise Unknown(f"not stated: {path}")
            item = self.found[role]
            if item is None:
                raise Unknown(None)
            if attribute not in item:
                raise Unknown(f"not stated: {path}")
            return item[attribute]
        if path not in self.case.get("facts", {}):
            raise Unknown(f"not stated: {path}")
        return self.case["facts"][path]

    def _holds(self, entry: Entry) -> bool:
        holds = True
        for path, wanted in entry.get("when", {}).items():
            values = wanted if isinstance(wanted, list) else [wanted]
            try:
                value = self._value(path)
            except Unknown as unknown:
                holds = False
                self._ask(unknown)
            else:
                holds = holds and any(_same(value, each) for each in values)
        return holds

    def _ask(self, unknown: Unknown) -> None:
        if unknown.question is not None:
            self.needs.questions.add(unknown.question)

    # -- the rules ------------------------------------------------------------------------------

    def _apply_rules(self) -> None:
        for rule in self.technique.get("rules", []):
            if not self._holds(rule):
                continue
            refs = self._selected(rule)
            if rule["need"] == "planned" and not refs:
                self.needs.faults.add(
                    f"{rule['role']}: technique asks for one, catalogue holds none"
                )
            for ref in refs:
                self._merge(rule["need"], ref, rule.get("quantity", 1))
        for ref, quantity in list(self.needs.contingency.items()):
            excess = quantity - self.needs.planned.get(ref, 0)
            if excess > 0:
                self.needs.contingency[ref] = excess
            else:
                del self.needs.contingency[ref]

    def _merge(self, need: str, ref: str, quantity: int) -> None:
        if need == "spare" and ref not in self.implant_refs:
            return
        into = getattr(self.needs, need)
        if need == "planned" and ref in self.implant_refs:
            into[ref] = into.get(ref, 0) + quantity
        else:
            into[ref] = max(into.get(ref, 0), quantity)

    def _selected(self, rule: Entry) -> list[str]:
        plain: dict[str, list[Any]] = {}
        ladders: dict[str, Entry] = {}
        for attribute, selection in rule.get("select", {}).items():
            if isinstance(selection, dict) and "ladder" in selection:
                ladders[attribute] = {
                    key: self._said(value) for key, value in selection["ladder"].items()
                }
            elif isinstance(selection, list):
                plain[attribute] = selection
            else:
                plain[attribute] = [self._said(selection)]
        said = [
            *(v[0] for v in plain.values() if v),
            *(v for x in ladders.values() for v in x.values()),
        ]
        if NOT_SAID in said:
            return []
        items = [
            item
            for item in self.items
            if item["role"] == rule["role"]
            and all(
                key in item and any(_same(item[key], value) for value in values)
                for key, values in plain.items()
            )
        ]
        rungs = {key: rungs_of(items, key, ladder) for key, ladder in ladders.items()}
        return [
            item["ref"]
            for item in items
            if all(key in item and _number(item[key]) in rungs[key] for key in ladders)
        ]

    def _said(self, value: Any) -> Any:
        """A value of a selection; what is not stated is asked for."""
        if not isinstance(value, dict):
            return value
        try:
            return self._value(value["plan"])
        except Unknown as unknown:
            self._ask(unknown)
            return NOT_SAID

    # -- the checks -----------------------------------------------------------------------------

    def _check(self, check: Entry) -> None:
        try:
            if check["kind"] == "equal":
                good = _same(self._value(check["left"]), self._value(check["right"]))
            else:
                good = self._sum(check["left"]) >= self._sum(check["right"])
        except (Unknown, InvalidOperation):
            self.needs.questions.add(check["code"])
        else:
            if not good:
                self.needs.faults.add(check["code"])

    def _sum(self, terms: list[Any]) -> Decimal:
        total = Decimal(0)
        for term in terms:
            if isinstance(term, dict):
                total += _number(term["times"]) * _number(self._value(term["of"]))
            elif isinstance(term, str):
                total += _number(self._value(term))
            else:
                total += _number(term)
        return total


def rungs_of(items: list[Entry], key: str, ladder: Entry) -> set[Decimal]:
    values = sorted({_number(item[key]) for item in items if key in item})
    low = ladder.get("at", ladder.get("from"))
    high = ladder.get("at", ladder.get("to"))
    chosen = {
        value
        for value in values
        if (low is None or value >= _number(low)) and (high is None or value <= _number(high))
    }
    if low is not None:
        under = [value for value in values if value < _number(low)]
        below = ladder.get("below", 0)
        chosen |= set(under[len(under) - min(below, len(under)) :])
    if high is not None:
        over = [value for value in values if value > _number(high)]
        chosen |= set(over[: ladder.get("above", 0)])
    return chosen


def _number(value: Any) -> Decimal:
    return Decimal(str(value))


def _same(left: Any, right: Any) -> bool:
    if isinstance(left, str) or isinstance(right, str):
        return type(left) is type(right) and left == right
    if isinstance(left, bool) or isinstance(right, bool):
        return left is right
    return _number(left) == _number(right)
