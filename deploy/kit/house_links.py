"""Addresses on the site's own host that printed codes carry for things without another identity:
`/u/<code>` a box or a tray, `/p/<code>` a place.

Scheme and host are in capitals: they mean the same and take less room in a code.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import quote, unquote

_HOUSE = re.compile(r"https?://[^/\s]+(?:/[^\s]*?)?/(?P<kind>[up])/(?P<code>[^/\s]+)/?", re.I)


class HouseKind(StrEnum):
    PIECE = "u"
    PLACE = "p"


@dataclass(frozen=True, slots=True)
class HouseLink:
    kind: HouseKind
    code: str


def read_house_link(text: str) -> HouseLink | None:
    """What one of the house's own links says; None for any other text."""
    match = _HOUSE.fullmatch(text.strip())
    if match is None:
        return None
    return HouseLink(HouseKind(match["kind"].lower()), unquote(match["code"]))


def house_link(address: str, code: str, kind: HouseKind = HouseKind.PIECE) -> str:
    return f"{capitals(address)}/{kind.value}/{quote(code, safe='')}"


def capitals(address: str) -> str:
    """Scheme and host in capitals; a path behind them stays as it is (it may matter)."""
    scheme, _, rest = address.rstrip("/").partition("://")
    host, slash, path = rest.partition("/")
    return f"{scheme.upper()}://{host.upper()}{slash}{path}"
