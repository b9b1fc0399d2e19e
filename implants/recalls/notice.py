"""What a maker's notice names, as a person types it: a REF a line, and its lots or serials.

    SC64 R550172, R550173
    NA15H-225 SN 33319548
    SH-C28M4

A REF alone is every box of it.  Read as a whole: all faults at once, or the lines.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from deploy.kit.models import Site
from implants.models import Implant

LONGEST = 40
_SERIALS = re.compile(r"(?:SN|SERIALS?)[:\s]+", re.IGNORECASE)
_LOTS = re.compile(r"LOTS?[:\s]+", re.IGNORECASE)
_PARTED = re.compile(r"[,;\s]+")


@dataclass(frozen=True, slots=True)
class Named:
    """Boxes of the implant with this lot, or this serial; every box where neither."""

    implant: Implant
    lot: str = ""
    serial: str = ""


@dataclass(frozen=True, slots=True)
class Notice:
    named: tuple[Named, ...]
    faults: tuple[str, ...]


def read_notice(text: str, site: Site) -> Notice:
    """One query."""
    rows = [" ".join(row.split()) for row in text.replace("\0", "").splitlines()]
    catalogue = {implant.ref.upper(): implant for implant in Implant.objects.filter(site=site)}
    named: dict[tuple[int, str, str], Named] = {}
    faults = []
    for number, row in enumerate(rows, 1):
        if not row:
            continue
        implant, rest = _ref_of(row, catalogue)
        if implant is None:
            faults.append(f"line {number}: “{row[:60]}” does not begin with a REF of the catalogue")
            continue
        for one in _named(implant, rest):
            if len(one.lot or one.serial) > LONGEST:
                faults.append(f"line {number}: a LOT or serial has {LONGEST} characters at most")
            named[implant.pk, one.lot.upper(), one.serial.upper()] = one
    if not named and not faults:
        faults.append("name at least one REF, and its lots or serials")
    return Notice(() if faults else tuple(named.values()), tuple(faults))


def _ref_of(row: str, catalogue: Mapping[str, Implant]) -> tuple[Implant | None, str]:
    """A REF may hold blanks: the longest beginning that the catalogue knows."""
    words: Sequence[str] = row.removeprefix("REF ").split(" ")
    for count in range(len(words), 0, -1):
        implant = catalogue.get(" ".join(words[:count]).upper().rstrip(",;:"))
        if implant is not None:
            return implant, " ".join(words[count:])
    return None, ""


def _named(implant: Implant, rest: str) -> Iterator[Named]:
    is_serial = _SERIALS.match(rest)
    values = [one for one in _PARTED.split(_LOTS.sub("", _SERIALS.sub("", rest, 1), 1)) if one]
    if not values:
        yield Named(implant)
    for value in values:
        yield Named(implant, serial=value) if is_serial else Named(implant, lot=value)
