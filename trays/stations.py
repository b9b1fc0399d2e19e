"""The stations of sterile services: what a person is doing when a tray is scanned there.

A station's printed code is the address of its page, so that a phone opens it and a scanner gun
fills the scan field.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from trays.stages import STAGES, Stage

Scanned = Literal["tray", "machine", "place", "case"]


@dataclass(frozen=True, slots=True)
class Station:
    """`stage`: where a tray scanned here is taken.  `first`: what is scanned before the trays.
    `does`: what the station is for, as an instruction."""

    slug: str
    name: str
    does: str
    stage: Stage
    first: Scanned = "tray"

    @property
    def permission(self) -> str:
        theatres = self.stage in (Stage.IN_THEATRE, Stage.RETURNED_USED)
        return "trays.return_trays" if theatres else "trays.process_trays"


_ALL = (
    Station("returned", "Returned used", "Scan what came back from theatre.", Stage.RETURNED_USED),
    Station("cleaning", "Cleaning", "Scan the washer, then its trays.", Stage.CLEANING, "machine"),
    Station("assembly", "Inspection and assembly", "Scan a tray to count it.", Stage.ASSEMBLY),
    Station("packing", "Packing", "Scan a counted tray to wrap it.", Stage.PACKED),
    Station(
        "sterilising",
        "Sterilising",
        "Scan the steriliser, then its packs.",
        Stage.STERILISING,
        "machine",
    ),
    Station(
        "store",
        "Sterile store",
        "Scan or type the place, then what lies there.",
        Stage.STERILE_STORE,
        "place",
    ),
    Station("issue", "Issue", "Scan or type the case, then its trays.", Stage.ISSUED, "case"),
    Station("theatre", "In theatre", "Scan what was taken into theatre.", Stage.IN_THEATRE),
)

STATIONS = {station.slug: station for station in _ALL}

_LINK = re.compile(r"https?://[^/\s]+(?:/[^\s]*?)?/bench/(?P<slug>[a-z]+)/?", re.IGNORECASE)


def station_scanned(text: str) -> Station | None:
    """The station whose code this is; None for any other text."""
    match = _LINK.fullmatch(text.strip())
    return STATIONS.get(match["slug"].lower()) if match else None


def may_follow_in_words(stage: str) -> str:
    """What may come after the stage, in the order of the table, the holds left out."""
    following = STAGES[Stage(stage)].next
    return ", ".join(one for one in STAGES if one in following and STAGES[one].readiness != "held")
