"""The parts of a technique as a coordinator writes and reads them, and back.

A selection, one attribute a line (all must hold):

    size: from 9 to stem.size, 1 below, 2 above     a ladder; either end may be left out
    length: at stem.length, 1 above                 a ladder that starts and ends at one value
    offset: stem.offset                             as the plan's stem
    inner diameter: fact liner_inner_diameter       as a fact of the plan
    material: "ceramic", "metal"                    one of these; texts stand in quotes
    size: 10, 12                                    one of these
    distal diameter: every rung                     whatever has the attribute

A condition, one path a line (all must hold):  `approach is posterior or lateral`, `cup is "no"`.
Options of a set, one a line in order of preference:  `STAND`, then `BASE + ADD`.
The terms of a sum:  `osteotomy_mm + 2 × bone_diameter_mm`.

What is read from what was said is equal to what was there before.  A path or a code that would
be misread stands in quotes (in a selection: `plan "..."`).  Pure: no database.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import TypeVar

from deploy.kit.attributes import ATTRIBUTES, Value
from scheduling.coverage.values import (
    Condition,
    FromPlan,
    Ladder,
    OneOf,
    Selection,
    Term,
    Times,
)

QUOTED = r'"(?:[^"\\]|\\.)*"'
NUMBER = r"[-−]?\d+(?:\.\d+)?"
WORD = r"[^\W\d][\w-]*"
PATH = rf"(?:{WORD}(?: {WORD})*\.)?{WORD}"

_YES_OR_NO = {"yes": True, "no": False}
_BY_LABEL = {attribute.label: key for key, attribute in ATTRIBUTES.items()}
_T = TypeVar("_T")


class WordsNotUnderstood(ValueError):
    """`faults`: every line that cannot be read, with its number, what is wrong and the mend."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


class _Fault(ValueError):
    """What is wrong with one line."""


# -- selections -------------------------------------------------------------------------------


def read_selection(text: str) -> dict[str, Selection]:
    """WordsNotUnderstood with the faults of all lines."""
    return _keyed(text, _selection_line, "attribute")


def say_selection(select: Mapping[str, Selection]) -> str:
    return "\n".join(f"{label}: {choice}" for label, choice in said_choices(select))


def said_choices(select: Mapping[str, Selection]) -> list[tuple[str, str]]:
    """(attribute's label, what it must be), in the order of the attributes.

    Not in the order of the mapping: PostgreSQL does not keep the order of a JSON object's keys.
    """
    order = ["ref", *ATTRIBUTES]
    keys = sorted(select, key=lambda key: (order.index(key) if key in order else len(order), key))
    return [
        (ATTRIBUTES[key].label if key in ATTRIBUTES else key, say_choice(select[key]))
        for key in keys
    ]


def _selection_line(line: str) -> tuple[str, Selection]:
    name, colon, rest = line.partition(":")
    if not colon or not rest.strip():
        raise _Fault("write an attribute, a colon and what it must be: size: stem.size")
    name = name.strip().lower()
    return _BY_LABEL.get(name, name.replace(" ", "_")), _choice(rest.strip())


def _choice(text: str) -> Selection:
    head, *tail = _split(text, ",")
    if head == "every rung" or re.match(r"(from|to|at)\s", head):
        return _ladder(head, tail)
    values = [_operand(part) for part in (head, *tail)]
    first = values[0]
    if isinstance(first, FromPlan) and len(values) == 1:
        return first
    plain = tuple(value for value in values if not isinstance(value, FromPlan))
    if len(plain) < len(values):
        raise _Fault("a list holds values only; write one line for what the plan says")
    return OneOf(plain)


def _ladder(head: str, tail: list[str]) -> Ladder:
    start: Value | FromPlan | None = None
    end: Value | FromPlan | None = None
    if head.startswith("at"):
        start = end = _operand(head[2:].strip())
    elif head != "every rung":
        low, *high = _split(head, r"(?:^|\s)to\s")
        start = _operand(low[4:].strip()) if low else None
        end = _operand(high[0]) if high else None
    steps = {"below": 0, "above": 0}
    for part in tail:
        step = re.fullmatch(r"(\d+) +(below|above)", part)
        if step is None:
            raise _Fault(f"after a ladder comes “1 below” or “2 above”, not “{part}”")
        steps[step[2]] += int(step[1])
    return Ladder(start, end, steps["below"], steps["above"])


def _operand(text: str) -> Value | FromPlan:
    if re.fullmatch(QUOTED, text) or re.fullmatch(NUMBER, text):
        return _plain_value(text)
    if fact := re.fullmatch(rf"fact +({WORD})", text):
        return FromPlan(fact[1])
    if odd := re.fullmatch(rf"plan +({QUOTED})", text):
        return FromPlan(_unquoted(odd[1]))
    if re.fullmatch(PATH, text) and "." in text:
        return FromPlan(text)
    raise _Fault(
        f'“{text}” is not understood: write "{text}" for a text, fact {text} for a fact of the '
        "plan, or component.attribute"
    )


def say_choice(choice: Selection) -> str:
    """One attribute's condition, as it stands after the colon."""
    if isinstance(choice, FromPlan):
        return _say_operand(choice)
    if isinstance(choice, OneOf):
        return ", ".join(_say_operand(value) for value in choice.values)
    if choice.start is None and choice.end is None:
        ends = "every rung"
    elif choice.start == choice.end:
        ends = f"at {_say_operand(choice.start)}"
    else:
        low = "" if choice.start is None else f"from {_say_operand(choice.start)}"
        high = "" if choice.end is None else f"to {_say_operand(choice.end)}"
        ends = f"{low} {high}".strip()
    below = f", {choice.below} below" if choice.below else ""
    above = f", {choice.above} above" if choice.above else ""
    return ends + below + above


def _say_operand(value: Value | FromPlan | None) -> str:
    if isinstance(value, FromPlan):
        if re.fullmatch(WORD, value.path):
            return f"fact {value.path}"
        is_plain = re.fullmatch(PATH, value.path) and not re.search(
            r"^(from|to|at|fact|plan) | to ", value.path
        )
        return value.path if is_plain else f"plan {_quoted(value.path)}"
    return _quoted(value) if isinstance(value, str) else _say_number(value)


# -- conditions -------------------------------------------------------------------------------


def read_condition(text: str) -> dict[str, tuple[Value, ...]]:
    """WordsNotUnderstood with the faults of all lines."""
    return _keyed(text, _condition_line, "path")


def say_condition(when: Condition) -> str:
    return "\n".join(
        f"{_say_path(path)} is {' or '.join(say_fact(value) for value in values)}"
        for path, values in sorted(when.items())
    )


def _condition_line(line: str) -> tuple[str, tuple[Value, ...]]:
    sides = _split(line, r"\sis\s", most=1)
    if len(sides) != 2 or not all(sides):
        raise _Fault("write a path, “is” and a value: approach is posterior or lateral")
    return _path(sides[0]), tuple(read_fact(part) for part in _split(sides[1], r",|\sor\s"))


def read_fact(text: str) -> Value:
    """A fact as people write it: a word, a number, yes or no, a "text".  ValueError otherwise."""
    if text in _YES_OR_NO:
        return _YES_OR_NO[text]
    if re.fullmatch(QUOTED, text) or re.fullmatch(NUMBER, text):
        return _plain_value(text)
    if not text or '"' in text:
        raise _Fault(f"“{text}” is not a value: after “is” stand words, numbers, yes or no")
    return text


def say_fact(value: Value) -> str:
    """The fact as `read_fact` reads it back."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        is_plain = re.fullmatch(rf"{WORD}(?: {WORD})*", value) and not (
            value in _YES_OR_NO or re.search(r"^or | or | or$|^or$", value)
        )
        return value if is_plain else _quoted(value)
    return _say_number(value)


# -- options and terms ------------------------------------------------------------------------


def read_options(text: str) -> tuple[tuple[str, ...], ...]:
    """WordsNotUnderstood with the faults of all lines."""
    return tuple(option for _, option in _lines(text, _option_line))


def say_options(options: tuple[tuple[str, ...], ...]) -> str:
    return "\n".join(" + ".join(_say_code(code) for code in option) for option in options)


def _option_line(line: str) -> tuple[str, ...]:
    codes = tuple(
        _unquoted(part) if re.fullmatch(QUOTED, part) else part for part in _split(line, r"\+")
    )
    if not all(codes):
        raise _Fault("write codes of configurations with + between them: BASE + ADD")
    return codes


def _say_code(code: str) -> str:
    is_plain = code and code == code.strip() and code.isprintable() and not set(code) & set('+"')
    return code if is_plain else _quoted(code)


def read_terms(text: str) -> tuple[Term, ...]:
    """The terms of one sum; WordsNotUnderstood with the faults of all of them."""
    faults, terms = [], []
    for part in _split(re.sub(r"[\r\n]+", " ", text), r"\+"):
        try:
            terms.append(_term(part))
        except _Fault as fault:
            faults.append(str(fault))
    if faults:
        raise WordsNotUnderstood(faults)
    return tuple(terms)


def say_terms(terms: tuple[Term, ...]) -> str:
    return " + ".join(_say_term(term) for term in terms)


def _term(text: str) -> Term:
    if re.fullmatch(NUMBER, text):
        return _number(text)
    if times := re.fullmatch(rf"({NUMBER})(?:\s*[×*]\s*|\s+(?:x|times)\s+)(.+)", text):
        return Times(_number(times[1]), _path(times[2]))
    return FromPlan(_path(text))


def _say_term(term: Term) -> str:
    if isinstance(term, Times):
        return f"{_say_number(term.factor)} × {_say_path(term.path)}"
    if isinstance(term, FromPlan):
        return _say_path(term.path)
    return _say_number(term)


# -- the small parts --------------------------------------------------------------------------


def _lines(text: str, read: Callable[[str], _T]) -> list[tuple[int, _T]]:
    """Every line that is not empty, read, with its number; all faults at once."""
    faults, found = [], []
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            try:
                found.append((number, read(line.strip())))
            except _Fault as fault:
                faults.append(f"line {number}: {fault}")
    if faults:
        raise WordsNotUnderstood(faults)
    return found


def _keyed(text: str, read: Callable[[str], tuple[str, _T]], what: str) -> dict[str, _T]:
    found: dict[str, _T] = {}
    faults = []
    for number, (key, value) in _lines(text, read):
        if key in found:
            faults.append(f"line {number}: the {what} “{key}” has a line already")
        found[key] = value
    if faults:
        raise WordsNotUnderstood(faults)
    return found


def _split(text: str, separator: str, most: int = 0) -> list[str]:
    """Split where the separator stands outside quotes; the parts are stripped."""
    masked = re.sub(QUOTED, lambda quoted: "\0" * len(quoted[0]), text)
    parts: list[str] = []
    begin = 0
    for found in re.finditer(separator, masked):
        if most and len(parts) == most:
            break
        parts.append(text[begin : found.start()].strip())
        begin = found.end()
    return [*parts, text[begin:].strip()]


def _path(text: str) -> str:
    if re.fullmatch(QUOTED, text):
        return _unquoted(text)
    if fact := re.fullmatch(rf"fact +({WORD})", text):
        return fact[1]
    if re.fullmatch(PATH, text):
        return text
    raise _Fault(f"“{text}” is neither component.attribute nor the name of a fact")


def _say_path(path: str) -> str:
    return path if re.fullmatch(PATH, path) and " is " not in path else _quoted(path)


def _plain_value(text: str) -> Value:
    return _unquoted(text) if text.startswith('"') else _number(text)


def _unquoted(text: str) -> str:
    try:
        return str(json.loads(text))
    except json.JSONDecodeError:
        raise _Fault(f"{text}: in quotes, write \\\\ for a backslash") from None


def _number(text: str) -> int | Decimal:
    text = text.replace("−", "-")
    return Decimal(text) if "." in text else int(text)


def _say_number(value: Value | None) -> str:
    return format(value, "f") if isinstance(value, Decimal) else str(value)


def _quoted(text: str) -> str:
    # Escaped to ASCII where a line separator could tear the line in two.
    return json.dumps(text, ensure_ascii=not text.isprintable())
