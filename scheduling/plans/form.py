"""The plan form: what was chosen so far becomes fields, and a plan.

One flat mapping of texts is all that a form sends and all that is read here: `part:stem:size` is
an attribute of a component, `pieces:stem` how many of it, `fact:approach` a fact, `other:approach`
a fact in other words, `window:stem.size:above` a figure of a window, `note` free text.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from deploy.kit.attributes import Value
from scheduling.coverage.catalogue import same
from scheduling.coverage.values import Component, Condition, Implant, Technique
from scheduling.plans.asked import Asked, FactAsked, FactKind, Stated, asked_of_plan
from scheduling.plans.choices import ComponentChoice, Option, component_choice, label_of, text_of
from scheduling.plans.windows import MOST_STEPS, Steps, ladders_of
from scheduling.words import fact_in_words, label_in_words

OTHER = "\N{HORIZONTAL ELLIPSIS}"
"""The option “another answer”: no house calls an answer so."""

NOT_CHECKED_HERE = ("cement and its mixing", "bone graft", "disposables")
"""What a revision needs too, and the cover check knows nothing of."""

MOST_PIECES = 20
LONGEST_NOTE = 2000


@dataclass(frozen=True, slots=True)
class FactField:
    """`shown`: it matters with what is chosen now.  `stated` None: not known, an open question."""

    name: str
    label: str
    kind: FactKind
    text: str
    other: str
    options: tuple[Option, ...]
    stated: Stated | None
    shown: bool
    fault: str = ""


@dataclass(frozen=True, slots=True)
class WindowField:
    """`own`: what the technique says."""

    key: str
    label: str
    below: str
    above: str
    own: Steps
    fault: str = ""


@dataclass(frozen=True, slots=True)
class PlanForm:
    technique: Technique
    components: tuple[ComponentChoice, ...]
    facts: tuple[FactField, ...]
    windows: tuple[WindowField, ...]
    note: str
    faults: tuple[str, ...]

    def planned(self) -> dict[str, Component]:
        """The components with an attribute chosen; the others are not named at all."""
        return {
            part.role: Component(part.attributes, part.quantity)
            for part in self.components
            if part.attributes
        }

    def stated(self) -> dict[str, Stated]:
        return {fact.name: fact.stated for fact in self.facts if fact.stated is not None}

    def changed_windows(self) -> dict[str, Steps]:
        """The windows that differ from the technique's own."""
        return {
            field.key: steps
            for field in self.windows
            if not field.fault and (steps := (int(field.below), int(field.above))) != field.own
        }

    def confirmations(self) -> tuple[str, ...]:
        """The human answers that the technique asks for, as things are chosen."""
        stated = self.stated() | _of_implants(self.components)
        return tuple(
            asked.code for asked in self.technique.confirmations if holds(asked.when, stated)
        )

    @property
    def to_choose(self) -> tuple[str, ...]:
        """What is still open among the components: `stem: offset`."""
        return tuple(
            f"{part.role}: {choice.label}"
            for part in self.components
            for choice in part.choices
            if choice.chosen is None
        )


def plan_form(
    technique: Technique,
    implants: Iterable[Implant],
    given: Mapping[str, str],
    *,
    side: str = "",
    heard: Mapping[str, Sequence[str]] | None = None,
) -> PlanForm:
    """`side`: the case's; implants of the other side are not offered.  `heard`: fact → answers
    that earlier plans gave."""
    asked = asked_of_plan(technique)
    by_role: dict[str, list[Implant]] = {}
    for one in implants:
        if not side or one.attributes.get("side", side) == side:
            by_role.setdefault(one.role, []).append(one)
    faults: list[str] = []
    roles = dict.fromkeys([*asked.roles, *_roles_in(given)])
    components = tuple(
        component_choice(
            role,
            by_role[role],
            _part(given, role),
            quantity=_pieces(given, role, faults),
        )
        for role in roles
        if role in by_role
    )
    facts = _fact_fields(asked, given, components, heard or {})
    windows = _window_fields(technique, given)
    note = given.get("note", "").strip()
    if len(note) > LONGEST_NOTE:
        faults.append(f"notes: {LONGEST_NOTE} letters at most, not {len(note)}")
    faults += [f"{fact.label}: {fact.fault}" for fact in facts if fact.fault]
    faults += [f"{window.label}: {window.fault}" for window in windows if window.fault]
    return PlanForm(technique, components, facts, windows, note, tuple(faults))


# -- components -------------------------------------------------------------------------------


def _roles_in(given: Mapping[str, str]) -> list[str]:
    """Components that the plan names beyond what the technique asks for."""
    named = [name.split(":") for name, text in given.items() if name.startswith("part:") and text]
    also = given.get("also", "")
    return [*(parts[1] for parts in named if len(parts) == 3), *([also] if also else [])]


def _part(given: Mapping[str, str], role: str) -> dict[str, str]:
    start = f"part:{role}:"
    return {name[len(start) :]: text for name, text in given.items() if name.startswith(start)}


def _pieces(given: Mapping[str, str], role: str, faults: list[str]) -> int:
    text = given.get(f"pieces:{role}", "").strip() or "1"
    if text.isascii() and text.isdigit() and 1 <= int(text[:4]) <= MOST_PIECES:
        return int(text)
    faults.append(f"{role}: pieces are a whole number from 1 to {MOST_PIECES}")
    return 1


# -- facts ------------------------------------------------------------------------------------


def _fact_fields(
    asked: Asked,
    given: Mapping[str, str],
    components: Sequence[ComponentChoice],
    heard: Mapping[str, Sequence[str]],
) -> tuple[FactField, ...]:
    names = {fact.name for fact in asked.facts}
    more = [
        _unasked(name.removeprefix("fact:"), text)
        for name, text in given.items()
        if name.startswith("fact:") and text and name.removeprefix("fact:") not in names
    ]
    read = [_fact_field(fact, given, heard.get(fact.name, ())) for fact in (*asked.facts, *more)]
    stated: dict[str, Stated] = {
        field.name: field.stated for field in read if field.stated is not None
    }
    stated |= _of_implants(components)
    return tuple(
        _shown(field, fact, stated) for field, fact in zip(read, (*asked.facts, *more), strict=True)
    )


def _unasked(name: str, text: str) -> FactAsked:
    """A fact that the plan states and this technique does not ask for: kept as it is."""
    if text in ("yes", "no"):
        return FactAsked(name, FactKind.YES_NO, (True, False), ({},))
    kind = FactKind.CHOICE if _number(text) is None else FactKind.NUMBER
    return FactAsked(name, kind, (), ({},))


def _fact_field(fact: FactAsked, given: Mapping[str, str], heard: Sequence[str]) -> FactField:
    text = given.get(f"fact:{fact.name}", "").strip()
    other = given.get(f"other:{fact.name}", "").strip()
    stated: Stated | None = None
    fault = ""
    options: tuple[Option, ...] = ()
    if fact.kind is FactKind.NUMBER:
        stated = _number(text) if text else None
        if text and stated is None:
            fault = f"a number, such as 120 or 12.5, not “{text[:40]}”"
    elif fact.kind is FactKind.YES_NO:
        options = (Option("yes", "yes"), Option("no", "no"))
        stated = {"yes": True, "no": False}.get(text)
    else:
        answers = {fact_in_words(value): value for value in fact.values}
        answers |= {answer: answer for answer in sorted(heard) if answer not in answers}
        if text and text != OTHER and text not in answers:
            answers[text] = text
        options = tuple(Option(words, words) for words in answers)
        stated = (other or None) if text == OTHER else answers.get(text)
    label = label_in_words(fact.name)
    return FactField(fact.name, label, fact.kind, text, other, options, stated, True, fault)


def _shown(field: FactField, fact: FactAsked, stated: Mapping[str, Stated]) -> FactField:
    shown = any(holds(condition, stated) for condition in fact.when)
    return FactField(
        field.name,
        field.label,
        field.kind,
        field.text,
        field.other,
        field.options,
        field.stated if shown else None,
        shown,
        field.fault if shown else "",
    )


def _of_implants(components: Iterable[ComponentChoice]) -> dict[str, Stated]:
    """`stem.size` → its value, of the implants that are chosen."""
    return {
        f"{part.role}.{key}": value
        for part in components
        if part.implant is not None
        for key, value in part.implant.attributes.items()
    }


def holds(when: Condition, stated: Mapping[str, Stated]) -> bool:
    """Whether all of a condition is stated so; silence does not hold."""
    return all(
        path in stated and any(same(stated[path], value) for value in values)
        for path, values in when.items()
    )


def _number(text: str) -> int | Decimal | None:
    """As people write it, with a point or a comma; None where it is no number of ours."""
    try:
        number = Decimal(text.replace(",", ".").replace("\N{MINUS SIGN}", "-"))
    except InvalidOperation:
        return None
    if not number.is_finite() or abs(number) >= 1_000_000 or number != round(number, 3):
        return None
    return int(number) if number == int(number) else number.normalize()


# -- windows ----------------------------------------------------------------------------------


def _window_fields(technique: Technique, given: Mapping[str, str]) -> tuple[WindowField, ...]:
    return tuple(
        _window_field(key, own, given) for key, own in sorted(ladders_of(technique).items())
    )


def _window_field(key: str, own: Steps, given: Mapping[str, str]) -> WindowField:
    below, above = (
        given.get(f"window:{key}:{side}", "").strip() or str(steps)
        for side, steps in zip(("below", "above"), own, strict=True)
    )
    is_number = all(text.isascii() and text.isdigit() and len(text) < 4 for text in (below, above))
    is_usable = is_number and max(int(below), int(above)) <= MOST_STEPS
    role, _, attribute = key.rpartition(".")
    return WindowField(
        key,
        f"{role}, {label_of(attribute)}",
        below,
        above,
        own,
        "" if is_usable else f"whole numbers from 0 to {MOST_STEPS}",
    )


# -- from what is kept to what a form sends ---------------------------------------------------


def given_of(
    components: Mapping[str, Component],
    facts: Mapping[str, Stated],
    windows: Mapping[str, Steps],
    note: str = "",
) -> dict[str, str]:
    """The other way round: a plan, or a window's defaults, as the texts of a form."""
    given = {
        f"part:{role}:{key}": text_of(value)
        for role, part in components.items()
        for key, value in part.attributes.items()
    }
    given |= {
        f"pieces:{role}": str(part.quantity)
        for role, part in components.items()
        if part.quantity > 1
    }
    given |= {f"fact:{name}": _fact_text(value) for name, value in facts.items()}
    for key, (below, above) in windows.items():
        given |= {f"window:{key}:below": str(below), f"window:{key}:above": str(above)}
    return given | ({"note": note} if note else {})


def _fact_text(value: Value | bool) -> str:
    return fact_in_words(value) if isinstance(value, bool | str) else text_of(value)
