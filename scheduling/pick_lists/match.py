"""What a scan answers: MATCHES LIST, STOP or ALREADY SCANNED.  Pure: values in, an answer out.

The order is the order in which a mistake hurts: a list that is not valid any more; what may not
be used at all (expired, on hold, not ready); the wrong thing; the right kind in the wrong piece.
"""

from __future__ import annotations

from datetime import datetime

from scheduling.pick_lists.match_box import match_box
from scheduling.pick_lists.match_tray import match_tray
from scheduling.pick_lists.scan_values import Answer, Asked, BoxRead, Read, Unreadable, Word


def match(read: Read, asked: Asked, *, now: datetime) -> Answer:
    """Judge one scan.  `now` is local to the site; use by is inclusive."""
    if asked.newest != asked.number:
        return Answer(
            Word.STOP,
            "list replaced",
            asked=f"version {asked.newest} of list {asked.code}, the newest",
            read=f"version {asked.number}",
        )
    if isinstance(read, Unreadable):
        return Answer(
            Word.STOP,
            "unreadable",
            asked="the code of a box, a tray or a list",
            read=read.said,
            note=read.why,
        )
    if all(line.is_over for line in asked.lines):
        cases = ", ".join(dict.fromkeys(line.case for line in asked.lines))
        return Answer(
            Word.STOP,
            "case is over",
            asked="nothing any more",
            read=read.said,
            note=f"Case {cases} has ended or was cancelled." if cases else "The list is empty.",
        )
    if isinstance(read, BoxRead):
        return match_box(read, asked, now=now)
    return match_tray(read, asked, now=now)
