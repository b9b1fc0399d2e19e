"""A house for tests in theatre: one hip with a stem, a head, a shell and a liner, all fetched."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from deploy.kit.models import Site
from implants.models import Implant, Unit
from scheduling.models import Case, CaseStatus, PickListVersion, TaperPair, Theatre
from scheduling.operations.pick_lists import print_pick_list
from tests import factories
from tests.factories import NOW
from trays.models import Tray

PLAN = {
    "stem": {"ref": "ST-12"},
    "head": {"ref": "HD-36"},
    "shell": {"ref": "SH-54"},
    "liner": {"ref": "LN-36"},
}


@dataclass(frozen=True)
class Hip:
    site: Site
    case: Case
    printed: PickListVersion
    boxes: dict[str, Unit]
    tray: Tray


def hip(site: Site) -> Hip:
    """Boxes by code: STEM, HEAD, SHELL and LINER on the list; ELSE-32 and ELSE-E are liners off
    it, of another diameter and another group; all on the shelf.  The pair T1, T1 is declared."""
    items = {
        "STEM": factories.implant(site, "ST-12", "stem", size=12, offset="high", taper="T1"),
        "HEAD": factories.implant(site, "HD-36", "head", diameter=36, taper="T1"),
        "SHELL": factories.implant(site, "SH-54", "shell", diameter=54, group="D"),
        "LINER": factories.implant(site, "LN-36", "liner", inner_diameter=36, group="D"),
        "ELSE-32": factories.implant(site, "LN-32", "liner", inner_diameter=32, group="D"),
        "ELSE-E": factories.implant(site, "LN-36E", "liner", inner_diameter=36, group="E"),
    }
    for number, item in enumerate(items.values(), start=1):
        Implant.objects.filter(pk=item.pk).update(maker="Maker North", name=f"Item {number}")
    boxes = {code: factories.unit(item, code, lot=f"L-{code}") for code, item in items.items()}
    reamer = factories.instrument(site, "REAM-12", "reamer", diameter=12)
    base = factories.configuration(site, "BASE", {reamer: 1})
    tray = factories.tray(base, "BASE/1")
    technique = factories.technique(site)
    technique.sets.create(purpose="femoral preparation", options=[["BASE"]])
    technique.rules.create(role="reamer", need="planned", select={"diameter": 12})
    case = factories.case(
        site,
        "C1",
        start=NOW + timedelta(hours=2),
        technique=technique,
        components=PLAN,
        theatre=Theatre.objects.create(site=site, code="2"),
        status=CaseStatus.STARTED,
    )
    TaperPair.objects.create(site=site, stem_taper="T1", head_taper="T1", document="Maker North")
    printed = print_pick_list(case=case, by=None, now=NOW)
    return Hip(site, case, printed, boxes, tray)
