"""HIBC codes: the item (primary), what varies from box to box (secondary), or both joined.

    + A999 ABC123DE 0 | check                    item: maker (LIC), product (PCN), unit of measure
    + $$3 270630 LOT1 | item's check | check     use by and lot, alone
    + A999 ABC123DE 0 / $$3 270630 LOT1 / S7 | check     joined: one check for all of it

Source: IMDRF/UDI WG/N48:2019, App. A and C.  Nothing parts the fields but `/`, so there is no
separator to lose.  HIBC has no small letters: where they come, Caps Lock made them.  They are
turned back, and the check character tells whether that was right.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from implants.udi.elements import LOT, MADE, QUANTITY, SERIAL, USE_BY
from implants.udi.faults import Caution, Fault, ScanError, ScanWarning
from implants.udi.hibc_check import CHARACTERS, check_character
from implants.udi.hibc_fields import HIBC, HibcFields
from implants.udi.keyboard import Typed
from implants.udi.scan_read import Kind, ScanRead

PRIMARY = re.compile(r"[A-Z][A-Z0-9]{3}[A-Z0-9]{1,18}[0-9]")
"""LIC of four, PCN of 1 to 18, unit of measure of one digit."""

PRINTED_BLANK = "_"
"""How a check character that is a blank is printed for people."""


@dataclass(frozen=True, slots=True)
class HibcCode:
    """One code.  `item` is empty, and `link` the check character of its item, in a secondary."""

    item: str
    link: str
    fields: HibcFields
    caps_lock: bool


def read_hibc(typed: Typed, *, today: date) -> ScanRead:
    """ScanError for what cannot be read without doubt; NEEDS_PRIMARY for a secondary alone."""
    code = hibc_code(typed, today=today)
    if not code.item:
        name, value = next(iter(code.fields.said.items()), (HIBC, typed.text))
        raise ScanError(Fault.NEEDS_PRIMARY, ai=name, value=value)
    return as_read(code)


def read_joined(primary: HibcCode, secondary: HibcCode) -> ScanRead:
    """The two codes of one label.  ScanError OTHER_LABEL where they are not."""
    if not primary.item or secondary.link != check_character(f"+{primary.item}"):
        raise ScanError(Fault.OTHER_LABEL)
    for name, value in primary.fields.said.items():
        secondary.fields.say(name, value)
    dates = primary.fields.dates | secondary.fields.dates
    fields = HibcFields(secondary.fields.said, dates)
    caps_lock = primary.caps_lock or secondary.caps_lock
    return as_read(HibcCode(primary.item, "", fields, caps_lock))


def hibc_code(typed: Typed, *, today: date) -> HibcCode:
    """The parts of one code whose check character is right."""
    text = typed.text.upper()
    payload = _without_check(text, ends_in_blank=typed.ends_in_blank)[1:]
    fields = HibcFields()
    item = link = ""
    if payload[:1].isalpha():
        item, *rest = payload.split("/")
        if PRIMARY.fullmatch(item) is None:
            raise ScanError(Fault.FORM, ai="LIC", value=item, form="A X3 X..18 N1")
    else:
        link, rest = payload[-1:], payload[:-1].split("/")
    for each in rest:
        fields.add(each, today=today)
    return HibcCode(item, link, fields, typed.caps_lock or text != typed.text)


def _without_check(text: str, *, ends_in_blank: bool) -> str:
    for place, character in enumerate(text, 1):
        printed_blank = character == PRINTED_BLANK and place == len(text)
        if character not in CHARACTERS and not printed_blank:
            raise ScanError(Fault.BAD_CHARACTER, ai=HIBC, value=text, character=character)
    if ends_in_blank and check_character(text) == " ":
        return text  # the blank was taken for the scanner's own
    payload, given = text[:-1], text[-1].replace(PRINTED_BLANK, " ")
    if len(payload) < 2:
        raise ScanError(Fault.FORM, ai=HIBC, value=text, form="LIC, PCN and more")
    expected = check_character(payload)
    if given != expected:
        raise ScanError(Fault.CHECK_CHARACTER, ai=HIBC, value=text, expected=expected)
    return payload


def as_read(code: HibcCode) -> ScanRead:
    said, dates = code.fields.said, code.fields.dates
    warnings = [
        ScanWarning(Caution.DAY_NOT_STATED, {"ai": name, "date": read.date.isoformat()})
        for name, read in dates.items()
        if not read.day_stated
    ]
    if code.caps_lock:
        warnings.append(ScanWarning(Caution.CAPS_LOCK))
    return ScanRead(
        kind=Kind.HIBC,
        hibc=code.item,
        lot=said.get(LOT, ""),
        serial=said.get(SERIAL, ""),
        expiry=dates[USE_BY].date if USE_BY in dates else None,
        made=dates[MADE].date if MADE in dates else None,
        quantity=int(said[QUANTITY]) if QUANTITY in said else None,
        warnings=tuple(warnings),
    )
