"""From what a scanner or a person typed at the shelf to what it names: a place, a box of the
house, a label, or nothing that can be read."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from deploy.kit.house_links import HouseKind, read_house_link
from deploy.kit.models import Site
from implants.identify import implant_on_label
from implants.models import Implant, Unit
from implants.places import place_named
from implants.udi import Fault, ScanError, ScanRead, read_scan, read_two, say

LONGEST_SHOWN = 80
MAKERS_REF = "240"
_REF_LOT = re.compile(r"(?:REF[\s:]+)?(?P<ref>\S.*?)\s+(?:LOT[\s:]+)?(?P<lot>\S+)", re.IGNORECASE)
_LOT = re.compile(r"LOT[\s:]+(?P<lot>\S+)", re.IGNORECASE)
HALF = (Fault.NEEDS_ITEM, Fault.NEEDS_PRIMARY)


@dataclass(frozen=True, slots=True)
class Place:
    name: str


@dataclass(frozen=True, slots=True)
class Label:
    """A box's label.  `implant` None: not in the catalogue.  `item`: the identity in the code,
    empty where REF and LOT were typed."""

    implant: Implant | None
    item: str = ""
    lot: str = ""
    serial: str = ""
    expiry: date | None = None
    quantity: int | None = None
    ref_on_label: str = ""
    cautions: tuple[str, ...] = ()

    @property
    def is_half(self) -> bool:
        """Neither lot nor serial: they stand in the label's other code."""
        return not (self.lot or self.serial)

    def said(self) -> str:
        """`REF N-12, LOT L1, SN 7, use by 31 Dec 2031`"""
        name = f"REF {self.implant.ref}" if self.implant else f"item {self.item}"
        parts = [
            name,
            f"LOT {self.lot}" if self.lot else "",
            f"SN {self.serial}" if self.serial else "",
            f"use by {self.expiry:%d %b %Y}" if self.expiry else "",
        ]
        return ", ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True)
class Unreadable:
    """`is_half`: the code is right, but the item stands in the label's other code."""

    shown: str
    why: str
    is_half: bool = False


Read = Place | Unit | Label | Unreadable


def read_at_shelf(text: str, *, site: Site, today: date, first: str = "") -> Read:
    """What the text names, in this order: a place, a box by its house code, a label, typed REF
    and LOT.  `first`: the label's other code, scanned before.  At most 8 queries."""
    text = text.replace("\0", "")
    typed = text.strip()
    place = place_named(typed, site)
    if place is not None:
        return Place(place)
    link = read_house_link(typed)
    code = link.code if link and link.kind is HouseKind.PIECE else typed
    unit = Unit.objects.filter(site=site, code=code).select_related("implant").first()
    if unit is not None:
        return unit
    try:
        scanned = _scanned(text, first, today)
    except ScanError as error:
        refusal = error
    else:
        return label_of(scanned, site)
    by_hand = _typed(typed, first, site, today)
    if by_hand is not None:
        return by_hand
    return Unreadable(shown(typed), say(refusal), is_half=refusal.code in HALF)


def _scanned(text: str, first: str, today: date) -> ScanRead:
    """The text alone where it is a whole label, else together with the other code."""
    if not first:
        return read_scan(text, today=today)
    try:
        alone = read_scan(text, today=today)
    except ScanError:
        return read_two(first, text, today=today)
    return alone if alone.lot or alone.serial else read_two(first, text, today=today)


def label_of(scanned: ScanRead, site: Site) -> Label | Unreadable:
    if not scanned.names_an_item:
        return Unreadable(scanned.giai or scanned.grai, "The code names no implant.")
    return Label(
        implant=implant_on_label(scanned, site),
        item=scanned.item,
        lot=scanned.lot,
        serial=scanned.serial,
        expiry=scanned.expiry,
        quantity=scanned.quantity,
        ref_on_label=scanned.ai.get(MAKERS_REF, ""),
        cautions=tuple(say(each) for each in scanned.warnings),
    )


def _typed(typed: str, first: str, site: Site, today: date) -> Label | None:
    """`REF LOT`, the last resort; or `LOT …` alone behind the item's code."""
    lot = _LOT.fullmatch(typed)
    if first and lot is not None:
        try:
            item = label_of(read_scan(first, today=today), site)
        except ScanError:
            return None
        return Label(item.implant, item.item, lot["lot"]) if isinstance(item, Label) else None
    match = _REF_LOT.fullmatch(typed)
    if match is None:
        return None
    implant = Implant.objects.filter(site=site, ref__iexact=match["ref"]).first()
    if implant is None:
        return None
    lots = set(implant.units.filter(lot__iexact=match["lot"]).values_list("lot", flat=True))
    # Lots differ by case; a person at a keyboard does not.  Two that differ only so: as typed.
    return Label(implant, lot=lots.pop() if len(lots) == 1 else match["lot"])


def shown(text: str) -> str:
    """The text as a person can see it: group separators visible, not endless."""
    visible = "".join(one if one.isprintable() else "␝" for one in text)
    return visible if len(visible) <= LONGEST_SHOWN else f"{visible[:LONGEST_SHOWN]}…"
