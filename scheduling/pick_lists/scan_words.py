"""What the screen says under the big word: a title, and what to do, for each reason to stop."""

from __future__ import annotations

from collections.abc import Mapping

TITLES: Mapping[str, str] = {
    "matches": "",
    "already scanned": "This line was ticked before. Nothing has changed.",
    "list replaced": "This list was printed again",
    "unreadable": "Not readable",
    "case is over": "The case is over",
    "unknown item": "Item not in the catalogue",
    "expired": "Expired",
    "expires before the case": "Expires before the case",
    "on hold": "On hold",
    "gone": "Recorded as gone",
    "promised to another case": "Reserved for another case",
    "receipt not recorded": "Receipt not recorded",
    "other use-by date": "Other use-by date than recorded",
    "other size": "Other size",
    "other offset": "Other offset",
    "other side": "Other side",
    "other item": "Other item",
    "other lot": "Other LOT",
    "other serial": "Other serial",
    "lot not read": "LOT not read",
    "not on this list": "Not on this list",
    "unknown tray": "Unknown tray",
    "tray on hold": "Tray on hold",
    "tray not ready": "Tray not ready",
    "sterile date is over": "Sterile date is over",
    "lacks an instrument": "An instrument is missing",
    "other tray": "Other tray",
}

WHAT_TO_DO: Mapping[str, str] = {
    "list replaced": "Fetch by the newest version only. It is shown below; print it.",
    "unreadable": "Scan again, or type REF and LOT with a blank between them.",
    "case is over": "Take nothing for it.",
    "unknown item": "Put it aside and tell the implant coordinator.",
    "expired": "Do not use it. Put it aside and tell the implant coordinator.",
    "expires before the case": "Take another box.",
    "gone": "Do not use it. Put it aside and tell the implant coordinator: the record is wrong.",
    "on hold": "Do not use it. Put it aside and tell the implant coordinator.",
    "promised to another case": "Put it back.",
    "receipt not recorded": "Tell the implant coordinator: its receipt must be recorded first.",
    "other use-by date": "Put it aside and tell the implant coordinator.",
    "other size": "Put it back.",
    "other offset": "Put it back.",
    "other side": "Put it back.",
    "other item": "Put it back.",
    "other lot": "Put it back and take the box with the LOT on the list, or print the list again.",
    "other serial": "Put it back and take the box with the serial on the list.",
    "lot not read": "Scan the label's other code too, the one with the LOT; or type REF and LOT.",
    "not on this list": "Put it back.",
    "unknown tray": "Put it aside and tell sterile services.",
    "tray on hold": "Do not use it. Tell sterile services.",
    "tray not ready": "Do not take it. Ask sterile services.",
    "sterile date is over": "Do not use it. Tell sterile services.",
    "lacks an instrument": "The case counts on it. Tell sterile services and the theatre.",
    "other tray": "Put it back.",
}
"""By reason to stop; the answers that are no STOP need nothing done."""
