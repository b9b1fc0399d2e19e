"""What the receiving bench says: the big words, and for each reason to stop a title and what to
do."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class Word(StrEnum):
    """The fixed answers.  None of them says that a box is fit for a patient."""

    CHECK_BOX = "CHECK BOX"
    OTHER_CODE = "SCAN THE OTHER CODE"
    RECEIVED = "RECEIVED"
    ALREADY_HERE = "ALREADY HERE"
    STOP = "STOP"


KINDS: Mapping[Word, str] = {
    Word.CHECK_BOX: "ask",
    Word.OTHER_CODE: "ask",
    Word.RECEIVED: "matches",
    Word.ALREADY_HERE: "already",
    Word.STOP: "stop",
}
"""Look and sound of each answer."""

TITLES: Mapping[str, str] = {
    "recalled": "Recalled",
    "other REF": "Other REF than in the catalogue",
    "pack": "Label of a larger pack",
    "expired": "Expired",
    "short-dated": "Short-dated",
    "packaging": "Packaging not intact",
    "label differs": "The label says something else",
    "on hold": "On hold",
    "gone": "Recorded as gone",
    "not in the catalogue": "Not in the catalogue",
    "unreadable": "Not readable",
    "box first": "No box is waiting",
    "place first": "The box before has no place yet",
    "use by first": "The use-by date is not known yet",
    "not on the note": "Not on the delivery note, or more than it says",
    "new place": "No box has been there before",
}

IN_QUARANTINE = "It is in quarantine: put it on the quarantine shelf."

WHAT_TO_DO: Mapping[str, str] = {
    **dict.fromkeys(
        ("recalled", "expired", "short-dated", "packaging", "label differs", "on hold"),
        IN_QUARANTINE,
    ),
    "other REF": f"{IN_QUARANTINE} Have the catalogue compared with the label.",
    "pack": "Open the pack and scan each box.",
    "gone": "Put it aside: the record or the box is wrong. Look at the box's history.",
    "not in the catalogue": "Put it aside: it is in the queue of boxes not in the catalogue.",
    "unreadable": "Scan again, or type REF and LOT with a blank between them.",
    "box first": "Scan the box, then its place.",
    "place first": "Scan the place of the box that is shown, or put that box aside.",
    "use by first": "Type the use-by date from the label below, then scan the place.",
    "not on the note": "Put it aside. If it is to stay, add it to the delivery note first.",
    "new place": "Scan or type the place once more if it is right.",
}

ASIDE = ("pack", "gone")
"""The box is not entered: there is nothing that could stand in quarantine."""

REASONS: Mapping[str, str] = {
    "packaging": "packaging not intact",
    "label differs": "label differs from the catalogue",
    "expired": "expired on arrival",
    "short-dated": "short-dated on arrival",
    "other REF": "other REF on the label",
    "recalled": "recalled",
}
"""The reason that stands in the box's history."""
