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
    HIBC = "hibc"


@dataclass(frozen=True, slots=True)
class ScanRead:
    """One code, read and checked.  A text is empty, a date None, where the code does not say.

    `gtin` has 14 digits.  `hibc` is the item of a HIBC code: LIC, PCN and unit of measure.  `lot`
    and `serial` are as printed: case counts.  `expiry` is the last day of use (inclusive).
    `quantity`: how many are in the pack.  `giai` and `grai` name an asset, such as a tray; a code
    with neither these nor an item names nothing that the program knows.  `ai` holds every element
    of a GS1 code.
    """

    kind: Kind
    gtin: str = ""
    lot: str = ""
    serial: str = ""
    expiry: date | None = None
    made: date | None = None
    giai: str = ""
    grai: str = ""
    hibc: str = ""
    quantity: int | None = None
    ai: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[ScanWarning, ...] = ()

    @property
    def names_an_item(self) -> bool:
        return bool(self.item)

    @property
    def item(self) -> str:
        """The item's identity, whichever standard says it; empty where it is no item."""
        return self.gtin or self.hibc

    @property
    def names_an_asset(self) -> bool:
        return bool(self.giai or self.grai)
