"""From a steriliser's load to its packs, where they are, and the cases that they went to.

One query, by the indexes of packs by load and of movements by tray: as fast for a house with a
hundred thousand packs as for one with ten.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from django.db.models import F, FilteredRelation, OuterRef, Q, QuerySet, Subquery

from deploy.kit.models import Site
from scheduling.models import Case
from trays.models import Load, Pack
from trays.stages import HELD_STAGES, Stage, lies_at_its_place

WRAPPED = (
    Stage.PACKED,
    Stage.STERILISING,
    Stage.AWAITING_RELEASE,
    Stage.STERILE_STORE,
    Stage.ISSUED,
)
WITH_ITS_CASE = (Stage.ISSUED, *HELD_STAGES)


@dataclass(frozen=True, slots=True)
class Use:
    """A case that the pack went to.  `opened`: it was in theatre; moments are local."""

    case: str
    case_pk: int | None
    at: datetime
    opened: bool


@dataclass(frozen=True, slots=True)
class Traced:
    """One pack.  `present`: the tray is still this pack; else it was packed anew since.

    `stage` and `location`: where the tray is now; one that was issued is with its case, and stays
    there when its load is withdrawn.
    """

    tray: str
    tray_pk: int
    number: int
    present: bool
    stage: str
    location: str
    uses: tuple[Use, ...]

    @property
    def opened(self) -> bool:
        return any(use.opened for use in self.uses)

    @property
    def to_retrieve(self) -> bool:
        """It is still in its wrap somewhere: in the cycle, the store, issued, or held."""
        return self.present and not self.opened and self.stage in (*WRAPPED, *HELD_STAGES)


def trace_rows(load: Load) -> QuerySet[Pack, Any]:
    """One row a pack and movement with a case; a pack without one has a row too."""
    # From its own first movement up to that of the tray's next pack.
    until = Q(last_seq__isnull=True) | Q(tray__movements__seq__lt=F("last_seq"))
    of_pack = Q(tray__movements__seq__gte=F("first_seq"), tray__movements__case_ref__gt="")
    case = Case.objects.filter(site=OuterRef("tray__site"), ref=OuterRef("went__case_ref"))
    return (
        Pack.objects.filter(load=load)
        .annotate(
            went=FilteredRelation("tray__movements", condition=of_pack & until),
            case_pk=Subquery(case.values("pk")[:1]),
            theatre=Subquery(case.values("theatre__code")[:1]),
        )
        .order_by("tray__code", "number", "went__seq")
        .values_list(
            "tray__code",
            "tray_id",
            "number",
            "last_seq",
            "tray__stage",
            "tray__location",
            "tray__case_ref",
            "went__case_ref",
            "case_pk",
            "theatre",
            "went__at",
            "went__move__to_state",
        )
    )


def trace(load: Load, site: Site) -> list[Traced]:
    """The load's packs by tray.  One query, where the load comes with its machine."""
    traced = []
    for (tray, pk, number, last, stage, location, case_ref), rows in groupby(
        trace_rows(load), key=lambda row: row[:7]
    ):
        uses: dict[str, Use] = {}
        place = location if lies_at_its_place(stage, case_ref) else ""
        if last is None and stage in HELD_STAGES and load.released_at is None:
            place = f"unloaded from {load.machine.code}"  # It was never put away.
        for *_, ref, case_pk, theatre, at, state in rows:
            if not ref:
                continue
            if last is None and ref == case_ref and stage in WITH_ITS_CASE:
                place = f"issued to case {ref}{f', {theatre}' if theatre else ''}"
            before = uses.get(ref)
            uses[ref] = Use(
                case=ref,
                case_pk=case_pk,
                at=before.at if before else site.local(at),
                opened=state == Stage.IN_THEATRE or (before is not None and before.opened),
            )
        traced.append(Traced(tray, pk, number, last is None, stage, place, tuple(uses.values())))
    return traced
