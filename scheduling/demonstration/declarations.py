"""What the demonstration's makers and surgeons have stated: taper pairs, addresses, windows.

All invented, and never on a real site: there a house enters what its makers declare, and windows
begin empty.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from deploy.kit.attributes import Value
from deploy.kit.models import Site
from implants.models import Implant
from scheduling.models import Maker, Surgeon, TaperPair, Technique
from scheduling.operations.windows import keep_window
from scheduling.plans.windows import Steps

DOCUMENT = "Maker’s declaration of pairs, invented for the demonstration"

MAKERS = {
    "N": ("Maker North", "1 Invented Road, Northmere", "https://maker-north.example/"),
    "S": ("Maker South", "2 Invented Road, Southmere", "https://maker-south.example/"),
}
"""First letter of a REF → name, address, website."""


@dataclass(frozen=True, slots=True)
class Usual:
    """A window: what a surgeon usually answers, and how many sizes either side they want ready."""

    technique: str
    name: str
    components: Mapping[str, Mapping[str, Value]]
    facts: Mapping[str, Value | bool] = field(default_factory=dict)
    windows: Mapping[str, Steps] = field(default_factory=dict)


WINDOWS = {
    "Surgeon Ash": (
        Usual(
            "PRIMARY-B",
            "Usual primary",
            {
                "stem": {"system": "B", "offset": "standard"},
                "head": {"material": "ceramic", "taper": "T2", "diameter": 36},
                "liner": {"inner_diameter": 36},
            },
            {"cup_fixation": "press fit", "approach": "posterior"},
        ),
        Usual(
            "REVISION-A",
            "Stem through an osteotomy",
            {"stem": {"system": "A", "length": 225}, "head": {"taper": "T1"}},
            {"approach": "osteotomy", "stem_out": "well fixed"},
            {"stem.size": (2, 2), "reamer.diameter": (1, 2)},
        ),
    ),
    "Surgeon Birch": (
        Usual(
            "REVISION-A",
            "Loose stem",
            {"stem": {"system": "A", "length": 190}, "head": {"taper": "T1"}},
            {"approach": "posterior", "stem_out": "loose"},
        ),
    ),
    "Surgeon Cedar": (
        Usual(
            "PRIMARY-B",
            "Usual primary",
            {"stem": {"system": "B"}, "head": {"material": "metal", "taper": "T2"}},
            {"cup_fixation": "screws likely", "approach": "lateral"},
            {"shell.diameter": (1, 2)},
        ),
    ),
}


def declare_tapers(site: Site) -> None:
    """Stem and head tapers of one name go together."""
    stems, heads = (_tapers(site, role) for role in ("stem", "head"))
    for taper in sorted(stems & heads):
        TaperPair.objects.get_or_create(
            site=site, stem_taper=taper, head_taper=taper, defaults={"document": DOCUMENT}
        )


def _tapers(site: Site, role: str) -> set[str]:
    rows = Implant.objects.filter(site=site, role=role).values_list("attributes", flat=True)
    return {str(row["taper"]) for row in rows if "taper" in row}


def name_makers(site: Site) -> None:
    """Whose each implant is, and where that maker is reached."""
    for letter, (name, address, website) in MAKERS.items():
        Implant.objects.filter(site=site, maker="", ref__startswith=letter).update(maker=name)
        said = {"address": address, "website": website}
        Maker.objects.get_or_create(site=site, name=name, defaults=said)


def keep_windows(site: Site) -> None:
    """The windows of the surgeons who can log in.  What is there already stays."""
    techniques = {one.code: one for one in Technique.objects.filter(site=site)}
    surgeons = Surgeon.objects.filter(site=site, name__in=WINDOWS, user__person__isnull=False)
    for surgeon in surgeons.select_related("user__person__user", "user__person__site"):
        assert surgeon.user is not None
        for usual in WINDOWS[surgeon.name]:
            keep_window(
                surgeon=surgeon,
                technique=techniques[usual.technique],
                name=usual.name,
                components=usual.components,
                facts=usual.facts,
                windows=usual.windows,
                by=surgeon.user.person,
                now=site.now(),
            )
