"""What theatre says of a tray that it sends back."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.hold_kinds import HoldKind
from trays.models import ReturnNote, Tray
from trays.operations.bench import here
from trays.operations.holds import hold_for
from trays.stages import Stage


@transaction.atomic
def note_return(
    *,
    tray: Tray,
    by: Person,
    now: datetime,
    note: str = "",
    count_open: bool = False,
    seq: int | None = None,
) -> ReturnNote:
    """The note rides along with the tray until it is packed.  A count that was not closed at the
    end of the operation holds the tray until a named person closes it.

    TrayRefused: elsewhere, not_here (only when it has just come back), note_missing.
    """
    there = here(tray, by, seq)
    if there.stage != Stage.RETURNED_USED:
        raise TrayRefused(
            "not_here",
            tray=there.code,
            stage=there.stage,
            doing="theatre's note",
            wanted=Stage.RETURNED_USED.value,
        )
    note = note.strip()[:200]
    if not note and not count_open:
        raise TrayRefused("note_missing", tray=there.code)
    said = ReturnNote.objects.create(
        tray=there,
        seq=there.seq,
        note=note,
        count_open=count_open,
        case_ref=there.case_ref,
        at=now,
        by=by.user,
    )
    if count_open:
        hold_for(tray=there, kind=HoldKind.COUNT, note=note, by=by, now=now)
    return said


def notes_riding_along(tray: Tray) -> list[ReturnNote]:
    """What theatre said since the tray was packed last, the newest first.  Two queries."""
    packed = tray.packs.order_by("-number").values_list("first_seq", flat=True).first() or 0
    return list(tray.return_notes.filter(seq__gt=packed).select_related("by"))
