"""A label in hand against the case: list and plan, side, use-by, hold, and what is in already."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from implants.models import Unit
from scheduling.coverage.values import Component, Need
from scheduling.models import Case
from scheduling.operations.locks import OPEN_STATUSES
from scheduling.pick_lists.asking import asked_by
from scheduling.pick_lists.match_box import match_box
from scheduling.pick_lists.match_tray import match_tray
from scheduling.pick_lists.reading import read
from scheduling.pick_lists.scan_values import (
    Answer,
    BoxRead,
    Item,
    Read,
    TrayRead,
    Unreadable,
    Word,
)
from scheduling.theatre.asking import CaseAsks, Plan, case_asks, newest_list_of
from scheduling.theatre.fits import Fit, Part, findings
from scheduling.theatre.overriding import NEVER, TWO_PEOPLE
from scheduling.theatre.words import TITLES
from scheduling.words import component_in_words
from trays.models import Tray
from trays.queries import bad_load_of
from trays.stages import Stage


@dataclass(frozen=True, slots=True)
class Judged:
    """The answer, and which box or tray of the house it is about; neither where none is known."""

    answer: Answer
    unit: Unit | None = None
    tray: Tray | None = None
    cautions: tuple[str, ...] = ()


def judged(case: Case, text: str, *, now: datetime) -> Judged:
    """Judge a label before its box is opened.  `now` in UTC.  At most 18 queries."""
    moment = case.site.local(now)
    what, cautions = read(text, site=case.site, today=moment.date())
    refusal = _unusable(case, what)
    if refusal is not None:
        return Judged(refusal, cautions=cautions)
    if isinstance(what, BoxRead):
        return replace(_box(case, what, moment), cautions=cautions)
    assert isinstance(what, TrayRead)
    return replace(_tray(case, what, moment), cautions=cautions)


def _unusable(case: Case, what: Read) -> Answer | None:
    if isinstance(what, Unreadable):
        return Answer(
            Word.STOP,
            "unreadable",
            asked="the code of a box or a tray",
            read=what.said,
            note=what.why,
        )
    if case.status not in OPEN_STATUSES:
        return Answer(
            Word.STOP,
            "case is over",
            asked="nothing any more",
            read=what.said,
            note=f"Case {case.ref} is {case.status}.",
        )
    return None


def _box(case: Case, what: BoxRead, moment: datetime) -> Judged:
    asks = case_asks(case, what)
    answer = match_box(what, asks.asked, now=moment)
    answer = _side(case, what.item, answer)
    unit = _unit(answer, asks, case)
    if what.item is not None:
        answer = _fits(asks, what.item, answer)
    if answer.word is Word.MATCHES_LIST and what.item is not None:
        answer = replace(answer, note=_beside(asks, what.item, answer))
    return Judged(answer, unit=unit)


def _side(case: Case, item: Item | None, answer: Answer) -> Answer:
    """The wrong side is said before any other difference but that the box may not be used."""
    side = str(item.attributes.get("side", "")) if item else ""
    said_first = ("expired", "on hold", "gone", "already scanned")
    if not side or side == case.side or answer.code in said_first:
        return answer
    asked = f"{case.side.upper() or 'no'} side, for case {case.ref}"
    assert item is not None
    return Answer(Word.STOP, "other side", answer.line, asked, item.in_words())


def _unit(answer: Answer, asks: CaseAsks, case: Case) -> Unit | None:
    """The box of the house that the label is on: the case's own, else the only one it can be."""
    if answer.line is not None and answer.code not in ("other lot", "other serial"):
        return Unit.objects.select_related("implant").get(pk=answer.line)
    if len(asks.asked.boxes) != 1:
        return None
    code = asks.asked.boxes[0].code
    return Unit.objects.select_related("implant").get(site=case.site_id, code=code)


def _fits(asks: CaseAsks, item: Item, answer: Answer) -> Answer:
    """What does not go with what is in is said before what is not on the list, and beside what
    may not be used at all: whoever goes past one STOP has seen the other."""
    if answer.word is Word.ALREADY_SCANNED or answer.code in NEVER:
        return answer
    hand = Part(item.role, answer.read, item.attributes)
    found = findings(
        hand,
        asks.there,
        planned=asks.plan.components,
        facts=asks.plan.facts,
        declared=asks.declared,
    )
    worst = next(iter(found), None)
    if worst is None or worst.fit is Fit.DECLARED:
        return answer
    code = f"{worst.rule} {'differ' if worst.fit is Fit.DIFFERS else 'not known'}"
    if answer.word is Word.MATCHES_LIST:
        return Answer(Word.STOP, code, answer.line, worst.asked, worst.read)
    if answer.code in TWO_PEOPLE:
        also = f"Also: {TITLES[code]}. The case asks for {worst.asked}; this is {worst.read}."
        return replace(answer, note=f"{answer.note} {also}".strip())
    also = f"Also: {TITLES[answer.code]}. The list asks for {answer.asked}; this is {answer.read}."
    return Answer(Word.STOP, code, answer.line, worst.asked, worst.read, also)


def _beside(asks: CaseAsks, item: Item, answer: Answer) -> str:
    """Beside a match: what the plan says of the role, where this is another size of it."""
    line = next(line for line in asks.asked.lines if line.id == answer.line)
    said = [answer.note] if answer.note else []
    if line.need is not Need.PLANNED and (planned := _planned(asks.plan, item)):
        said.append(f"On the list as {line.need.value}. The plan: {planned}.")
    return " ".join(said)


def _planned(plan: Plan, item: Item) -> str:
    """The plan's component of that role in words; empty where the item is just that."""
    component = plan.components.get(item.role)
    if component is None:
        return ""
    stated = {key: value for key, value in component.items() if key != "quantity"}
    ref = stated.pop("ref", None)
    if ref is not None:
        return "" if ref == item.ref else f"{item.role}, REF {ref}"
    if all(item.attributes.get(key) == value for key, value in stated.items()):
        return ""
    return component_in_words(item.role, Component(stated))


def _tray(case: Case, what: TrayRead, moment: datetime) -> Judged:
    tray = Tray.objects.filter(site=case.site_id, code=what.code).exclude(code="").first()
    if tray is not None and tray.stage == Stage.IN_THEATRE and tray.case_ref == case.ref:
        words = f"tray {tray.code}"
        if (load := bad_load_of(tray)) is not None:
            why = f": {load.said}" if load.said else ""
            read = f"{words}, of load {load}, {load.state}{why}"
            asked = "a tray of a load that was released"
            return Judged(Answer(Word.STOP, "load withdrawn", None, asked, read), tray=tray)
        return Judged(
            Answer(Word.ALREADY_SCANNED, "already scanned", None, words, words), tray=tray
        )
    printed = newest_list_of(case)
    if printed is None:
        asked = "no tray: no list was printed for this case"
        return Judged(Answer(Word.STOP, "not on this list", None, asked, what.said), tray=tray)
    asked_now = asked_by(printed, what)
    lines = tuple(replace(line, ticked=False) for line in asked_now.lines if line.case == case.ref)
    return Judged(match_tray(what, replace(asked_now, lines=lines), now=moment), tray=tray)
