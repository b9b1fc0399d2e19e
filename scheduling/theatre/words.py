"""What the screen says under the big word in theatre: beside those of the pick lists."""

from __future__ import annotations

from collections.abc import Mapping

from scheduling.pick_lists.scan_words import TITLES as LIST_TITLES
from scheduling.theatre.fits import RULES
from scheduling.theatre.outcomes import Outcome

TITLES: Mapping[str, str] = {
    **LIST_TITLES,
    "already scanned": "This was checked before. Nothing has changed.",
    "already recorded": "This was recorded before. Nothing has changed.",
    **{f"recorded as {outcome.value}": f"Recorded as {outcome.value}" for outcome in Outcome},
    "load withdrawn": "Its load failed or was withdrawn",
    "not of this case": "Not taken for this case",
    "not recorded": "Not recorded",
    **{f"{rule.name} differ": f"{rule.name.capitalize()} differ" for rule in RULES},
    **{
        f"{rule.name} not known": f"{rule.name.capitalize()}: not known whether they go together"
        for rule in RULES
    },
}

RECORDED = {f"recorded as {outcome.value}": "RECORDED" for outcome in Outcome}
"""The big word where it is no longer asked whether a box matches: one that was opened past a STOP
does not match the list by being recorded."""

DO_NOT_OPEN = "Do not open it. If it is needed all the same, say why below; it will be recorded."
TWO_PEOPLE = (
    "Do not open it. If it is needed all the same, two people say why below; it will be recorded."
)
WHICH_BOX = "Do not open it. The label fits several boxes of the house: say below which one it is."
WHAT_TO_DO: Mapping[str, str] = {
    "unreadable": "Scan again, or type REF and LOT with a blank between them.",
    "case is over": "Open nothing for it.",
    "unknown item": "Keep it aside with its label and tell the implant coordinator. If it is used "
    "all the same, record it below.",
    "gone": "The record is wrong: keep the box aside and tell the implant coordinator.",
    "lot not read": "Scan the label’s other code too, the one with the LOT; or type REF and LOT.",
    "unknown tray": "Do not open it. Tell sterile services.",
    "not of this case": "Check its label before opening first.",
    "not recorded": "Nothing was recorded.",
}
"""Where it is not one of the two above."""
