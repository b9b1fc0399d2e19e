"""What was read: the values that a scan gives to the rest of the program."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from implants.udi.faults import ScanWarning


class Kind(StrEnum):
    """What carried the identity."""

    ELEMENT_STRING = "gs1 element string"
    DIGITAL_LINK = "digital link"
    GTIN = "gtin"


@dataclass(frozen=True, slots=True)
class ScanRead:
    """One code, read and checked.  A text is empty, a date None, where the code does not say.

    `gtin` has 14 digits.  `lot` and `serial` are as printed: case counts.  `expiry` is the last
    day of use (inclusive).  `giai` and `grai` name an asset, such as a tray; a code with
    neither these nor a `gtin` names nothing that the program knows.  `ai` holds every element.
    """

    kind: Kind
    gtin: str = ""
    lot: str = ""
    serial: str = ""
    expiry: date | None = None
    made: date | None = None
    giai: str = ""
    grai: str = ""
    ai: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[ScanWarning, ...] = ()

    @property
    def names_an_item(self) -> bool:
        return bool(self.gtin)

    @property
    def names_an_asset(self) -> bool:
        return bool(self.giai or self.grai)
