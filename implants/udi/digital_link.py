"""GS1 Digital Link URIs: the identity of an item or an asset as a web address.

`https://any.address/any/stem/01/{gtin}/22/{variant}/10/{lot}/21/{serial}?17={use by}`

Scheme and host are written in capitals, which a QR code packs tighter and every reader takes
as the same; what follows stays as it is, because lots and serials are case sensitive.
Source: GS1 Digital Link, URI syntax; checked against the GS1 Syntax Engine's examples.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from urllib.parse import quote, unquote, urlsplit

from implants.udi.dates import write_date
from implants.udi.elements import (
    GIAI,
    GRAI,
    GTIN,
    LOT,
    SERIAL,
    USE_BY,
    VARIANT,
    Element,
    element,
    is_ai,
)
from implants.udi.faults import Fault, ScanError

SCHEMES = ("http://", "https://")
QUALIFIERS: Mapping[str, tuple[str, ...]] = {
    GTIN: (VARIANT, LOT, SERIAL),
    "8006": (VARIANT, LOT, SERIAL),
    GIAI: ("7040",),
    GRAI: (),
    "00": (),
}
"""The keys that are read, each with what may qualify it, in the order that is asked for."""

# Anything else has to be percent-encoded; `urlsplit` would drop a tab or a line end in silence.
ADDRESS_CHARACTERS = re.compile(r"[!-~]+")
BROKEN_ESCAPE = re.compile(r"%(?![0-9A-Fa-f]{2})")


def implant_link(
    address: str, gtin: str, lot: str = "", serial: str = "", expiry: date | None = None
) -> str:
    """The link of an implant at the site's `address` (`https://host` and perhaps a path).

    ScanError if the GTIN is not 14 digits with a right check digit, or if a lot or serial is
    longer or holds other characters than GS1 allows (20, set 82): such a box needs another code.
    """
    path = [(GTIN, gtin), (LOT, lot), (SERIAL, serial)]
    query = f"?{USE_BY}={write_date(expiry)}" if expiry else ""
    return _stem(address) + _path([pair for pair in path if pair[1] or pair[0] == GTIN]) + query


def asset_link(address: str, giai: str) -> str:
    """The link of an asset, such as a tray.  ScanError as for `implant_link` (30 characters)."""
    return _stem(address) + _path([(GIAI, giai)])


def link_elements(text: str) -> list[Element]:
    """The elements of a Digital Link.  ScanError; NOT_A_CODE if the address holds no key."""
    if BROKEN_ESCAPE.search(text) or not ADDRESS_CHARACTERS.fullmatch(text):
        raise ScanError(Fault.LINK_ESCAPE, text=text)
    try:
        parts = urlsplit(text)
    except ValueError as error:
        raise ScanError(Fault.NOT_A_CODE, text=text) from error
    if not parts.netloc:
        raise ScanError(Fault.NOT_A_CODE, text=text)
    return [*_path_elements(text, parts.path), *_query_elements(parts.query)]


def _path_elements(text: str, path: str) -> list[Element]:
    segments = path.removesuffix("/").split("/")
    starts = [place for place, segment in enumerate(segments) if segment in QUALIFIERS]
    if not starts:
        raise ScanError(Fault.NOT_A_CODE, text=text)
    refusals = []
    for start in starts:
        # A segment of the stem may look like a key; the first that reads to the end is the one.
        try:
            return _key_and_qualifiers(segments[start:])
        except ScanError as refusal:
            refusals.append(refusal)
    raise refusals[0]


def _key_and_qualifiers(segments: list[str]) -> list[Element]:
    if len(segments) % 2:
        raise ScanError(Fault.LINK_PATH, text="/".join(segments))
    pairs = [(segments[i], _decoded(segments[i + 1])) for i in range(0, len(segments), 2)]
    key = pairs[0][0]
    allowed = list(QUALIFIERS[key])
    for ai, _ in pairs[1:]:
        if ai not in allowed:
            order = ", ".join(QUALIFIERS[key])
            raise ScanError(Fault.LINK_ORDER, ai=ai, order=order)
        del allowed[: allowed.index(ai) + 1]
    return [element(ai, value) for ai, value in pairs]


def _query_elements(query: str) -> list[Element]:
    """Attributes: names of digits alone are application identifiers, others are not ours."""
    found = []
    for part in query.split("&"):
        name, _, value = part.partition("=")
        ai = _decoded(name)
        if ai.isascii() and ai.isdigit():
            if not is_ai(ai):
                raise ScanError(Fault.UNKNOWN_AI, text=part)
            # A plus is a plus: read as a blank it could stand in no value.
            found.append(element(ai, _decoded(value)))
    return found


def _decoded(text: str) -> str:
    try:
        return unquote(text, errors="strict")
    except UnicodeDecodeError as error:
        raise ScanError(Fault.LINK_ESCAPE, text=text) from error


def _stem(address: str) -> str:
    """The address without its last slash, scheme and host in capitals."""
    try:
        parts = urlsplit(address)
    except ValueError as error:
        raise ScanError(Fault.LINK_ADDRESS, text=address) from error
    if not address.lower().startswith(SCHEMES) or not parts.netloc or parts.query or parts.fragment:
        raise ScanError(Fault.LINK_ADDRESS, text=address)
    return f"{parts.scheme}://{parts.netloc}".upper() + parts.path.rstrip("/")


def _path(pairs: list[tuple[str, str]]) -> str:
    for ai, value in pairs:
        element(ai, value)
        if value in (".", ".."):
            # Browsers resolve such a segment, however it is encoded.
            raise ScanError(Fault.LINK_DOTS, ai=ai, value=value)
    return "".join(f"/{ai}/{quote(value, safe='')}" for ai, value in pairs)
