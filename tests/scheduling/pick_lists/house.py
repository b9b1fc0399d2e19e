"""A small house for database tests: one case that wants a stem, a head and a base set."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from deploy.kit.models import Site
from implants.models import Implant, Unit
from scheduling.models import Case, Technique, Theatre
from tests import factories
from tests.factories import NOW
from trays.models import Instrument, Tray

GTIN = "02000000000015"
PLAN = {"stem": {"ref": "ST-12H"}, "head": {"ref": "HD-36"}}
TOMORROW = (NOW + timedelta(days=1)).date()


@dataclass(frozen=True)
class House:
    site: Site
    theatre: Theatre
    case: Case
    technique: Technique
    stem: Implant
    head: Implant
    stems: list[Unit]
    heads: list[Unit]
    reamer: Instrument
    trays: list[Tray]


def house(site: Site) -> House:
    """Two boxes of the stem (LX, LY), two equal boxes of the head, two base sets, case C1.

    The technique asks for a base set, a reamer, and a second head as a spare.
    """
    stem = factories.implant(site, "ST-12H", "stem", size=12, offset="high", length=225)
    Implant.objects.filter(pk=stem.pk).update(gtin=GTIN)
    stem.refresh_from_db()
    head = factories.implant(site, "HD-36", "head", diameter=36)
    stems = [
        factories.unit(stem, "S1", lot="LX", serial="1", location="Shelf A-2"),
        factories.unit(stem, "S2", lot="LY", serial="2", location="Shelf A-10"),
    ]
    heads = [
        factories.unit(head, "H1", lot="LH", location="Shelf B-1"),
        factories.unit(head, "H2", lot="LH", location="Shelf B-1"),
    ]
    reamer = factories.instrument(site, "REAM-12", "reamer", diameter=12)
    base = factories.configuration(site, "BASE", {reamer: 1})
    trays = [factories.tray(base, code, location="Store R-1") for code in ("BASE/1", "BASE/2")]
    technique = factories.technique(site)
    technique.sets.create(purpose="femoral preparation", options=[["BASE"]])
    technique.rules.create(role="reamer", need="planned", select={"diameter": 12})
    technique.rules.create(role="head", need="spare", select={"diameter": 36})
    theatre = Theatre.objects.create(site=site, code="2")
    case = factories.case(site, "C1", technique=technique, components=PLAN, theatre=theatre)
    return House(site, theatre, case, technique, stem, head, stems, heads, reamer, trays)
