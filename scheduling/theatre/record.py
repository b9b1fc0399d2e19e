"""The implant record of a case: what stays in the patient, box by box, and what was wasted.

The fields are those of an implant card (MDR (EU) 2017/745, Art. 18(1)(a): name, serial, LOT, UDI,
model, maker with address and website) and of the registries (REF and LOT of each component).
There is no patient here: a case reference only.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import F

from implants.models import Unit, UnitMovement
from implants.states import GONE, UnitState
from implants.udi.human import human_readable
from scheduling.models import Case, Maker, Opening, OutsideBox, PlanVersion, TrayTaken
from trays.models import TrayMovement
from trays.stages import Stage

NOT_ON_A_CARD = frozenset(
    {"screw", "wedge", "plate", "wire", "pin", "clip", "connector", "cable", "suture", "staple"}
)
"""What needs no implant card: MDR Art. 18(3); the cable by inference."""


@dataclass(frozen=True, slots=True)
class RecordedBox:
    """`at`: local.  `side`: the case's own.  `override`: why it was opened after a STOP.

    `received` False: the house never received the box; `code` is then the entry's own.
    """

    code: str
    role: str
    words: str
    name: str
    ref: str
    gtin: str
    lot: str
    serial: str
    use_by: date | None
    maker: str
    maker_address: str
    maker_website: str
    side: str
    at: datetime
    by: str
    second: str
    reason: str
    override: str
    received: bool = True

    @property
    def udi(self) -> str:
        return human_readable(self.gtin, expiry=self.use_by, lot=self.lot, serial=self.serial)

    @property
    def udi_parts(self) -> list[str]:
        """Element by element, so that a narrow column breaks between them only."""
        return [f"({part}" for part in self.udi.split("(")[1:]]

    @property
    def is_on_a_card(self) -> bool:
        """By the role's last word: a cup screw is a screw."""
        return self.role.rpartition(" ")[2].lower() not in NOT_ON_A_CARD


@dataclass(frozen=True, slots=True)
class CaseRecord:
    """`trays`: the codes that were in theatre for the case; `stopped`: (code, why) of those that
    were used after a STOP.  `as_of`: local."""

    site: str
    address: str
    ref: str
    status: str
    side: str
    day: date
    theatre: str
    surgeon: str
    procedure: str
    as_of: datetime
    clock_is_real: bool
    implanted: tuple[RecordedBox, ...]
    wasted: tuple[RecordedBox, ...]
    trays: tuple[str, ...]
    stopped: tuple[tuple[str, str], ...] = ()
    unsaid: tuple[str, ...] = ()
    """Boxes that were opened and of which nobody has said what came of them, in words: the record
    is not complete, and says so."""


def case_record(case: Case) -> CaseRecord:
    """As it stands now.  Seven queries, however many boxes."""
    site = case.site
    makers = {maker.name: maker for maker in Maker.objects.filter(site=site)}
    opened = list(Opening.objects.filter(case=case).select_related("unit__implant").order_by("pk"))
    overrides = {each.unit_id: each.override for each in opened}
    ends = (
        UnitMovement.objects.filter(
            unit__site=site,
            case_ref=case.ref,
            seq=F("unit__seq"),
            unit__state__in=[UnitState.IMPLANTED, UnitState.WASTED],
        )
        .select_related("unit__implant", "by", "second")
        .order_by("at", "id")
    )
    boxes = [(each.unit.state, _box(each, case, makers, overrides)) for each in ends]
    outside = case.outside_boxes.filter(void=None).select_related("by", "second")
    boxes += [(each.outcome, _outside(each, case, makers)) for each in outside]
    stopped = dict(TrayTaken.objects.filter(case=case).values_list("tray__code", "override"))
    plan = PlanVersion.objects.filter(case=case).select_related("technique").order_by("-number")
    in_force = plan.first()
    trays = TrayMovement.objects.filter(
        tray__site=site, case_ref=case.ref, move__to_state=Stage.IN_THEATRE
    )
    return CaseRecord(
        site=site.name,
        address=site.address,
        ref=case.ref,
        status=case.status,
        side=case.side,
        day=site.local(case.start).date(),
        theatre=case.theatre.code if case.theatre else "",
        surgeon=case.surgeon.name if case.surgeon else "",
        procedure=str(in_force.technique) if in_force else "",
        as_of=site.local(site.now()),
        clock_is_real=site.clock_is_real,
        implanted=_those(boxes, UnitState.IMPLANTED),
        wasted=_those(boxes, UnitState.WASTED),
        trays=tuple(sorted({*trays.values_list("tray__code", flat=True), *stopped})),
        stopped=tuple(sorted(stopped.items())),
        unsaid=tuple(_in_words(each.unit) for each in opened if each.unit.state not in GONE),
    )


def _those(boxes: list[tuple[str, RecordedBox]], state: str) -> tuple[RecordedBox, ...]:
    return tuple(box for came_of_it, box in boxes if came_of_it == state)


def _box(
    end: UnitMovement, case: Case, makers: dict[str, Maker], overrides: dict[int, str]
) -> RecordedBox:
    unit, implant = end.unit, end.unit.implant
    maker = makers.get(implant.maker)
    return RecordedBox(
        code=unit.code,
        role=implant.role,
        words=implant.in_words(),
        name=implant.name,
        ref=implant.ref,
        gtin=implant.gtin,
        lot=unit.lot,
        serial=unit.serial,
        use_by=unit.expiry,
        maker=implant.maker,
        maker_address=maker.address if maker else "",
        maker_website=maker.website if maker else "",
        side=case.side,
        at=case.site.local(end.at),
        by=_name(end.by),
        second=_name(end.second),
        reason=end.reason,
        override=overrides.get(unit.pk, ""),
    )


def _outside(box: OutsideBox, case: Case, makers: dict[str, Maker]) -> RecordedBox:
    maker = makers.get(box.maker)
    return RecordedBox(
        code=box.key,
        role=box.role,
        words=box.words,
        name="",
        ref=box.ref,
        gtin=box.gtin,
        lot=box.lot,
        serial=box.serial,
        use_by=box.use_by,
        maker=box.maker,
        maker_address=maker.address if maker else "",
        maker_website=maker.website if maker else "",
        side=case.side,
        at=case.site.local(box.at),
        by=_name(box.by),
        second=_name(box.second),
        reason=box.reason,
        override="",
        received=False,
    )


def _in_words(unit: Unit) -> str:
    lot = f"LOT {unit.lot}" if unit.lot else "no LOT"
    return f"{unit.implant.in_words()}, REF {unit.implant.ref}, {lot}, box {unit.code}"


def _name(user: Any) -> str:
    return (user.get_full_name() or user.get_username()) if user else ""
