"""Take a gap on, say what was done about it, and that it is done with."""

from __future__ import annotations

from datetime import datetime

from deploy.kit.models import Person
from implants.models import Implant
from scheduling.errors import Refused
from scheduling.models import GapNote


def note_gap(
    *, implant: Implant, note: str, by: Person, now: datetime, done: bool = False
) -> GapNote:
    """The person is on this item's gap from now on; `done`: nobody needs to be any more.

    Refused: implant_elsewhere, gap_note_missing.
    """
    if implant.site_id != by.site_id:
        raise Refused("implant_elsewhere", item=implant.ref)
    note = note.strip()
    if not note and not done:
        raise Refused("gap_note_missing", item=implant.ref)
    return GapNote.objects.create(implant=implant, by=by, at=now, note=note[:200], done=done)
