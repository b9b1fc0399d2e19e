"""The last answer on the page in theatre, in words, and what can be done after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from implants.models import Unit
from scheduling.models import Case, LabelCheck, Opening, TrayTaken
from scheduling.pick_lists.scan_values import Word
from scheduling.theatre.alike import boxes_it_may_be
from scheduling.theatre.overriding import Takes, takes
from scheduling.theatre.words import (
    DO_NOT_OPEN,
    RECORDED,
    TITLES,
    TWO_PEOPLE,
    WHAT_TO_DO,
    WHICH_BOX,
)

KINDS = {Word.MATCHES_LIST: "matches", Word.STOP: "stop", Word.ALREADY_SCANNED: "already"}


NO_BOX = frozenset(
    {"unreadable", "case is over", "unknown tray", "lot not read", "not of this case"}
)
"""Codes of a STOP after which nobody knows that a box of another house is in hand, nor which."""


A_DIGIT_SAYS = 9
"""So many boxes to choose from; the others are told by their codes alone."""


@dataclass(frozen=True, slots=True)
class TheatreAnswer:
    """`words`: for the shared component.  `which`: the boxes of the house that the label may be on,
    where it cannot tell them apart; `more`: how many others it may be on.  `can_open`: the box may
    be recorded as opened, the tray as used; `needs_reason` and `needs_second`: only with these.
    `is_outside`: no box of the house is known by this label, and what is in hand can be recorded
    as such."""

    check: LabelCheck
    words: dict[str, Any]
    can_open: bool
    needs_reason: bool
    needs_second: bool
    is_outside: bool
    which: tuple[Unit, ...]
    more: int

    @property
    def does(self) -> str:
        return "Record it as used" if self.check.tray_id else "Record it as opened"


def answer_of(case: Case, key: str) -> TheatreAnswer | None:
    """The answer that an address asks for; None where there is none.  At most two queries, and
    eight more where a label may be on several boxes."""
    if not key.isdecimal():
        return None
    checks = LabelCheck.objects.filter(case=case, pk=key)
    check = checks.select_related("case__site", "unit__implant", "tray").first()
    if check is None:
        return None
    code = check.reason.get("code", "")
    which = [] if code in NO_BOX else boxes_it_may_be(check)
    needed = takes(check.answer, code, is_known=bool(check.unit_id or check.tray_id))
    can_open = needed is not Takes.NEVER and not _is_done(check)
    return TheatreAnswer(
        check=check,
        words=_words(check, code, needed, can_open, which),
        can_open=can_open,
        needs_reason=needed in (Takes.REASON, Takes.TWO_PEOPLE),
        needs_second=needed is Takes.TWO_PEOPLE,
        is_outside=check.answer == Word.STOP
        and not (check.unit_id or check.tray_id)
        and code not in NO_BOX,
        which=tuple(which[:A_DIGIT_SAYS]),
        more=max(0, len(which) - A_DIGIT_SAYS),
    )


def _is_done(check: LabelCheck) -> bool:
    """A tray that was not stopped is in theatre already."""
    if check.tray_id:
        taken = TrayTaken.objects.filter(case=check.case_id, tray=check.tray_id)
        return check.answer != Word.STOP or taken.exists()
    return Opening.objects.filter(unit=check.unit).exists()


def _words(
    check: LabelCheck, code: str, needed: Takes, can_open: bool, which: Sequence[Unit]
) -> dict[str, Any]:
    do = WHICH_BOX if which else WHAT_TO_DO.get(code, "Do not open it.")
    if can_open:
        do = TWO_PEOPLE if needed is Takes.TWO_PEOPLE else DO_NOT_OPEN
    return {
        "word": RECORDED.get(code, check.answer),
        "kind": KINDS[Word(check.answer)],
        "title": TITLES.get(code, ""),
        "what_to_do": do if check.answer == Word.STOP else "",
        **{name: check.reason.get(name) for name in ("asked", "read", "note", "cautions")},
    }
