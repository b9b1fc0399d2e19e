"""The last answer on the page in theatre, in words, and what can be done after it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scheduling.models import Case, LabelCheck, Opening
from scheduling.pick_lists.scan_values import Word
from scheduling.theatre.overriding import Takes, takes
from scheduling.theatre.words import DO_NOT_OPEN, TITLES, TWO_PEOPLE, WHAT_TO_DO

KINDS = {Word.MATCHES_LIST: "matches", Word.STOP: "stop", Word.ALREADY_SCANNED: "already"}


@dataclass(frozen=True, slots=True)
class TheatreAnswer:
    """`words`: for the shared component.  `can_open`: the box may be recorded as opened;
    `needs_reason` and `needs_second`: only with these."""

    check: LabelCheck
    words: dict[str, Any]
    can_open: bool
    needs_reason: bool
    needs_second: bool


def answer_of(case: Case, key: str) -> TheatreAnswer | None:
    """The answer that an address asks for; None where there is none.  At most two queries."""
    if not key.isdecimal():
        return None
    check = LabelCheck.objects.filter(pk=key, case=case).select_related("unit__implant").first()
    if check is None:
        return None
    code = check.reason.get("code", "")
    needed = takes(check.answer, code, is_known=check.unit_id is not None)
    can_open = needed is not Takes.NEVER and not Opening.objects.filter(unit=check.unit).exists()
    return TheatreAnswer(
        check=check,
        words=_words(check, code, needed, can_open),
        can_open=can_open,
        needs_reason=needed in (Takes.REASON, Takes.TWO_PEOPLE),
        needs_second=needed is Takes.TWO_PEOPLE,
    )


def _words(check: LabelCheck, code: str, needed: Takes, can_open: bool) -> dict[str, Any]:
    do = WHAT_TO_DO.get(code, "Do not open it.")
    if can_open:
        do = TWO_PEOPLE if needed is Takes.TWO_PEOPLE else DO_NOT_OPEN
    return {
        "word": check.answer,
        "kind": KINDS[Word(check.answer)],
        "title": TITLES.get(code, ""),
        "what_to_do": do if check.answer == Word.STOP else "",
        **{name: check.reason.get(name) for name in ("asked", "read", "note", "cautions")},
    }
