"""Whether a part in hand goes with what is in already: by what the house has declared.  Pure.

Three rules: the head's diameter is the liner's inner diameter; the liner's group is the shell's;
head and stem tapers are a pair that the makers declare (equal names prove nothing).  What is not
stated is *not known*, never a match.  The facts are common practice, no source, but for the
tapers: combine only pairs that the maker declares.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from deploy.kit.attributes import ATTRIBUTES, Value, number_in_words


class Fit(StrEnum):
    """In the order in which they hurt."""

    DIFFERS = "differs"
    NOT_KNOWN = "not known"
    DECLARED = "declared"


TaperPairs = frozenset[tuple[str, str]]
"""(taper of the stem, taper of the head)."""


@dataclass(frozen=True, slots=True)
class Part:
    """An implant.  `said`: how it is called in an answer: `shell, Ø 54 mm, group D, box S1`."""

    role: str
    said: str
    attributes: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule says about the part in hand.  `asked` and `read`: both values, in words."""

    rule: str
    fit: Fit
    asked: str
    read: str


@dataclass(frozen=True, slots=True)
class Rule:
    """Two roles and the attribute of each that must go together.

    `kept`: role → the plan's fact that states its value, where the patient keeps that part.
    """

    name: str
    first: str
    first_key: str
    second: str
    second_key: str
    kept: Mapping[str, str]
    by_declaration: bool = False


RULES = (
    Rule(
        "head and liner",
        "head",
        "diameter",
        "liner",
        "inner_diameter",
        {"head": "head_diameter", "liner": "liner_inner_diameter"},
    ),
    Rule("liner and shell", "liner", "group", "shell", "group", {"shell": "shell_group"}),
    Rule(
        "head and stem tapers",
        "head",
        "taper",
        "stem",
        "taper",
        {"head": "head_taper", "stem": "stem_taper"},
        by_declaration=True,
    ),
)


def findings(
    hand: Part,
    there: Iterable[Part],
    *,
    planned: Iterable[str],
    facts: Mapping[str, Value | bool],
    declared: TaperPairs,
) -> list[Finding]:
    """What each rule says about the part in hand, the worst first; none where nothing is asked.

    `there`: what is opened or implanted already.  `planned`: the roles that the plan puts in; a
    partner that is neither there nor planned is one that the patient keeps, by the `facts`.
    """
    parts, roles = list(there), set(planned)
    found = [
        _finding(rule, hand, partner, declared)
        for rule in RULES
        for partner in _partners(rule, hand, parts, roles, facts)
    ]
    return sorted(found, key=lambda each: list(Fit).index(each.fit))


def _partners(
    rule: Rule,
    hand: Part,
    parts: list[Part],
    planned: set[str],
    facts: Mapping[str, Value | bool],
) -> Iterator[Part]:
    if hand.role not in (rule.first, rule.second):
        return
    other = rule.second if hand.role == rule.first else rule.first
    in_already = [part for part in parts if part.role == other]
    yield from in_already
    if in_already or other in planned or other not in rule.kept:
        return
    key = rule.second_key if other == rule.second else rule.first_key
    value = facts.get(rule.kept[other], "")
    stated = {} if isinstance(value, bool) or value == "" else {key: value}
    yield Part(other, f"the {other} that stays in", stated)


def _finding(rule: Rule, hand: Part, partner: Part, declared: TaperPairs) -> Finding:
    is_first = hand.role == rule.first
    own_key = rule.first_key if is_first else rule.second_key
    its_key = rule.second_key if is_first else rule.first_key
    own, its = hand.attributes.get(own_key), partner.attributes.get(its_key)
    head, stem = (own, its) if is_first else (its, own)
    if own is None or its is None:
        fit = Fit.NOT_KNOWN
    elif rule.by_declaration:
        fit = Fit.DECLARED if (str(stem), str(head)) in declared else Fit.NOT_KNOWN
    else:
        fit = Fit.DECLARED if own == its else Fit.DIFFERS
    return Finding(
        rule.name,
        fit,
        asked=f"{hand.role} for {_said(its_key, its)}: {partner.said}",
        read=f"{_said(own_key, own)}: {hand.said}",
    )


def _said(key: str, value: Value | None) -> str:
    attribute = ATTRIBUTES[key]
    if value is None:
        return f"{attribute.label} not recorded"
    return f"{attribute.label} {number_in_words(value)} {attribute.unit}".rstrip()
