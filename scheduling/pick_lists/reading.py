"""From what a scanner or a person typed to what it names: a box, a tray, or nothing we know."""

from __future__ import annotations

import re
from datetime import date

from django.db.models import Q

from deploy.kit.models import Site
from implants.identify import implant_on_label
from implants.models import Implant, Unit
from implants.udi import ScanError, ScanRead, read_scan, say
from scheduling.pick_lists.links import HouseCode, ListCode, own_code
from scheduling.pick_lists.scan_values import BoxRead, Item, Read, TrayRead, Unreadable
from trays.models import Tray

LONGEST_SHOWN = 80
_TYPED = re.compile(r"(?:REF[\s:]+)?(?P<ref>\S.*?)\s+(?:LOT[\s:]+)?(?P<lot>\S+)", re.IGNORECASE)


def read(text: str, *, site: Site, today: date) -> tuple[Read, tuple[str, ...]]:
    """What the text names at this site, and cautions in words about how it was read.

    Taken as, in this order: the house's own link; a tray's or a box's own code or a tray's asset;
    a GS1 element string or Digital Link, a HIBC code; a typed `REF LOT`.  At most 4 queries.
    """
    text = text.replace("\0", "")  # No code holds it, and PostgreSQL takes it for an error.
    typed = text.strip()
    own = own_code(typed)
    if isinstance(own, ListCode):
        why = f"This is the code of list {own.code}: open it on the scan page."
        return Unreadable(_shown(typed), why), ()
    code = own.code if isinstance(own, HouseCode) else typed
    by_code = _by_house_code(code, site) if code else None
    if by_code is not None:
        return by_code, ()
    if own is not None:
        return Unreadable(_shown(typed), "No box or tray of this site has this code."), ()
    try:
        scanned = read_scan(text, today=today)
    except ScanError as error:
        by_hand = _typed_by_hand(typed, site)
        return by_hand or Unreadable(_shown(typed), say(error)), ()
    return _named(scanned, _shown(typed), site), tuple(say(each) for each in scanned.warnings)


def item_of(implant: Implant) -> Item:
    return Item(implant.ref, implant.role, implant.exact_attributes(), implant.name)


def _by_house_code(code: str, site: Site) -> Read | None:
    named = Tray.objects.filter(Q(code=code) | Q(asset=code), site=site)
    # A tray's own code before another one's asset.
    tray = min(
        named.select_related("configuration"), key=lambda each: each.code != code, default=None
    )
    if tray is not None:
        return TrayRead(f"tray {tray.code}", tray.code, tray.configuration.code)
    unit = Unit.objects.filter(site=site, code=code).select_related("implant").first()
    if unit is not None:
        item = item_of(unit.implant)
        return BoxRead(f"box {unit.code}", item, unit.lot, unit.serial, code=unit.code)
    return None


def _tray_by_asset(asset: str, site: Site) -> Tray | None:
    return Tray.objects.filter(site=site, asset=asset).select_related("configuration").first()


def _named(scanned: ScanRead, shown: str, site: Site) -> Read:
    if scanned.names_an_item:
        implant = implant_on_label(scanned, site)
        said = ", ".join(
            part
            for part in (
                f"GTIN {scanned.gtin}" if scanned.gtin else f"HIBC {scanned.hibc}",
                f"LOT {scanned.lot}" if scanned.lot else "",
                f"SN {scanned.serial}" if scanned.serial else "",
            )
            if part
        )
        item = item_of(implant) if implant else None
        return BoxRead(said, item, scanned.lot, scanned.serial, scanned.expiry)
    if scanned.names_an_asset:
        tray = _tray_by_asset(scanned.giai, site) if scanned.giai else None
        if tray is None:
            return TrayRead(f"asset {scanned.giai or scanned.grai}")
        return TrayRead(f"tray {tray.code}", tray.code, tray.configuration.code)
    return Unreadable(shown, "The code names neither an implant nor a tray.")


def _typed_by_hand(typed: str, site: Site) -> BoxRead | None:
    """`REF LOT`, the last resort; a REF alone is read without a lot.  Capitals do not matter."""
    match = _TYPED.fullmatch(typed)
    named = Q(ref__iexact=typed)
    if match is not None:
        named |= Q(ref__iexact=match["ref"])
    found = {
        each.ref.casefold(): each
        for each in Implant.objects.filter(named, site=site).order_by("-pk")
    }
    # A REF may hold a space: the whole text before its parts.
    if alone := found.get(typed.casefold()):
        return BoxRead(f"REF {alone.ref}", item_of(alone))
    implant = found.get(match["ref"].casefold()) if match else None
    if match is None or implant is None:
        return None
    lots = set(implant.units.filter(lot__iexact=match["lot"]).values_list("lot", flat=True))
    # Lots differ by case; a person at a keyboard does not.  Two that differ only so: as typed.
    lot = lots.pop() if len(lots) == 1 else match["lot"]
    return BoxRead(f"REF {implant.ref}, LOT {lot}", item_of(implant), lot)


def _shown(text: str) -> str:
    """The text as a person can see it: group separators visible, not endless."""
    visible = "".join(c if c.isprintable() else "␝" for c in text)
    return visible if len(visible) <= LONGEST_SHOWN else f"{visible[:LONGEST_SHOWN]}…"
