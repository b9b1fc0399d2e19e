"""Faults and cautions in words for the person with the scanner: what is wrong, what to do."""

from __future__ import annotations

from collections.abc import Mapping

from implants.udi.faults import Caution, Fault, ScanError, ScanWarning

NAMES: Mapping[str, str] = {
    "00": "SSCC",
    "01": "item number (GTIN)",
    "02": "GTIN of contents",
    "10": "lot",
    "11": "date made",
    "17": "use-by date",
    "21": "serial",
    "22": "variant",
    "30": "quantity",
    "37": "count",
    "7003": "use-by time",
    "8003": "asset number (GRAI)",
    "8004": "asset number (GIAI)",
    "HIBC": "HIBC code",
    "LIC": "item of the HIBC code",
}

FAULTS: Mapping[Fault, str] = {
    Fault.NOTHING: "Nothing was scanned.",
    Fault.NOT_A_CODE: "“{text}” is not a code that can be read here.",
    Fault.NOT_READ_YET: "This is {standard}, which is not read yet. "
    "Scan the label's GS1 code, or type REF and LOT.",
    Fault.KEYBOARD: "The scanner typed “{character}”: it is set to another keyboard language "
    "than this computer. Set both to the same.",
    Fault.TWO_READINGS: "“{text}” can be an item number or something else. "
    "Scan the label's other code.",
    Fault.BRACKETS: "“{text}” does not begin with an identifier in brackets, such as (01).",
    Fault.UNKNOWN_AI: "“{text}” does not begin with a known identifier: "
    "the code is damaged or incomplete. Scan again.",
    Fault.EMPTY: "The {name} is empty.",
    Fault.BAD_CHARACTER: "The {name} {value} holds “{character}”, which cannot stand in it. "
    "Check the scanner's keyboard language.",
    Fault.FORM: "The {name} {value} is not of its form ({form}): too short, too long, or not "
    "the right characters. Scan again.",
    Fault.CHECK_DIGIT: "The {name} {value} is wrong: its check digit should be {expected}. "
    "Scan again; do not correct it by hand.",
    Fault.CHECK_CHARACTER: "The {name} {value} is wrong: its check character should be "
    "“{expected}”. Scan again; do not correct it by hand.",
    Fault.DATE: "The {name} {value} is no date.",
    Fault.STATED_TWICE: "The code states two values for the {name}: {value} and {other}.",
    Fault.NEEDS_ITEM: "This code holds the {name} {value} but no item number. "
    "Scan the label's other code, the one that begins with (01).",
    Fault.NEEDS_PRIMARY: "This code holds the {name} {value} but no item. "
    "Scan the label's other code, the item's.",
    Fault.OTHER_LABEL: "The two codes are not of one label. Begin again with the first.",
    Fault.EXCLUDED: "The code holds the {name} and the {other_name}, which do not go together: "
    "it is the label of a larger pack. Scan the box itself.",
    Fault.LINK_ORDER: "The link has ({ai}) where only {order}, in that order, may follow.",
    Fault.LINK_PATH: "The link's path “{text}” is incomplete. Scan again.",
    Fault.LINK_ESCAPE: "The link “{text}” is damaged. Scan again.",
    Fault.LINK_DOTS: "The {name} “{value}” cannot stand in a link.",
    Fault.LINK_ADDRESS: "“{text}” is not a web address that a link can begin with.",
}

CAUTIONS: Mapping[Caution, str] = {
    Caution.DAY_NOT_STATED: "The {name} states no day: read as {date}, the last of the month.",
    Caution.LOST_SEPARATOR: "The {name} {value} ends in “{hidden}”, which looks like the next "
    "part of the code: the scanner may lose separators. Compare with the label.",
    Caution.CAPS_LOCK: "Caps Lock is on: capitals and small letters came exchanged. "
    "Turn it off and scan again.",
    Caution.LOWER_CASE: "“{value}” came in small letters. If the label prints capitals, "
    "Caps Lock is on: turn it off and scan again.",
    Caution.UNKNOWN_AI: "The code also holds ({ai}) {value}, which is not known here.",
}


def say(what: ScanError | ScanWarning) -> str:
    """One or two sentences, without mark-up: escape them as any text of a scan."""
    if isinstance(what, ScanError):
        return _filled(FAULTS[what.code], what.values)
    return _filled(CAUTIONS[what.code], what.values)


def _filled(sentence: str, values: Mapping[str, str]) -> str:
    names = {
        "name": _name(values.get("ai", "")),
        "other_name": _name(values.get("other", "")),
    }
    return sentence.format_map({**names, **values})


def _name(ai: str) -> str:
    return NAMES.get(ai, f"value of ({ai})")
