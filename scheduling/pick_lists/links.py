"""What the printed codes say: addresses on the site's own host, read back by `own_code`.

A box with a GTIN carries its identity as a GS1 Digital Link; the use-by date is left to the
record, so that the code stays small enough for a poor print.  A tray carries its GIAI.  What has
no identity of the standard (no GTIN, or a lot that GS1 does not allow) carries the house's own
`/u/<code>` (`deploy.kit.house_links`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from deploy.kit.house_links import HouseKind, capitals, house_link, read_house_link
from implants.udi import ScanError
from implants.udi.digital_link import asset_link, implant_link

ALPHABET = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Of the codes of lists: nothing that is read as something else (0 O, 1 I)."""

_LIST = re.compile(
    r"https?://[^/\s]+(?:/[^\s]*?)?/l/(?P<list>[0-9a-z]+)/(?P<number>[0-9]{1,6})/?", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class ListCode:
    """The code in a list's header: the list and the version that was printed."""

    code: str
    number: int


@dataclass(frozen=True, slots=True)
class HouseCode:
    """The house's own code of a box or a tray."""

    code: str


def own_code(text: str) -> ListCode | HouseCode | None:
    """What one of the house's own links says; None for any other text."""
    match = _LIST.fullmatch(text.strip())
    if match is not None:
        return ListCode(match["list"].upper(), int(match["number"]))
    link = read_house_link(text)
    return HouseCode(link.code) if link and link.kind is HouseKind.PIECE else None


def list_link(address: str, code: str, number: int) -> str:
    return f"{capitals(address)}/l/{code}/{number}/"


def box_link(address: str, *, unit: str, gtin: str, lot: str, serial: str) -> str:
    # Web servers undo %2F, so that a phone's link could not be taken apart again.
    if gtin and "/" not in lot + serial:
        try:
            return implant_link(address, gtin, lot, serial)
        except ScanError:
            pass  # A lot or GTIN that the standard cannot carry; the house's own code can.
    return house_link(address, unit)


def tray_link(address: str, *, tray: str, asset: str) -> str:
    try:
        return asset_link(address, asset)
    except ScanError:
        return house_link(address, tray)
