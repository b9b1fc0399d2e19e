"""What the database refuses about promises, whatever the code above it does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from deploy.kit.guards import ALWAYS, Guard, Sql, Vendor
from implants.ledger import is_kind
from implants.states import GONE, HELD, Kind
from trays.stages import HELD_STAGES

INSERT_AND_UPDATE: tuple[Literal["INSERT"], Literal["UPDATE"]] = ("INSERT", "UPDATE")
CHANGES: tuple[Literal["UPDATE"], Literal["DELETE"]] = ("UPDATE", "DELETE")

_UNIT = "implants_unit WHERE id = NEW.unit_id"
_KEPT = "scheduling_{of}reservation"
_SIDE: dict[Vendor, str] = {
    "sqlite": "JSON_EXTRACT(i.attributes, '$.side')",
    "postgresql": "i.attributes ->> 'side'",
}


def guards() -> Iterator[Guard]:
    yield from _promises_of_units()
    yield from _uses_of_units()
    yield from _uses_of_trays()
    yield from _openings()
    for of in ("unit", "tray"):
        yield Guard(
            name=f"scheduling_{of}_reservation_ends_once",
            table=_KEPT.format(of=of),
            before="UPDATE",
            when=f"NEW.case_id <> OLD.case_id OR NEW.{of}_id <> OLD.{of}_id OR "
            "(OLD.freed_at IS NOT NULL AND "
            "(NEW.freed_at IS NULL OR NEW.freed_at <> OLD.freed_at))",
            says="a reservation is freed once and never changes hands",
        )
        yield Guard(
            name=f"scheduling_{of}_reservation_is_kept",
            table=_KEPT.format(of=of),
            before="DELETE",
            when=ALWAYS,
            says="a reservation is freed, not deleted",
        )


def _promises_of_units() -> Iterator[Guard]:
    states = ", ".join(f"'{state.value}'" for state in (*HELD, *GONE))
    yield Guard(
        name="scheduling_reserved_usable",
        table="scheduling_unitreservation",
        before="INSERT",
        when="NEW.freed_at IS NULL AND EXISTS (SELECT 1 FROM implants_unit u "
        f"WHERE u.id = NEW.unit_id AND u.state IN ({states}))",
        says="a box on hold or gone is not reserved",
        lock=_UNIT,
    )
    yield Guard(
        name="scheduling_reserved_picked_for_it",
        table="scheduling_unitreservation",
        before="INSERT",
        when="NEW.freed_at IS NULL AND EXISTS (SELECT 1 FROM implants_unit u "
        "JOIN scheduling_case c ON c.id = NEW.case_id WHERE u.id = NEW.unit_id "
        "AND u.state = 'picked' AND u.case_ref <> c.ref)",
        says="a box that is picked for another case is not reserved",
        lock=_UNIT,
    )
    for what in INSERT_AND_UPDATE:
        yield Guard(
            name=f"scheduling_reserved_in_date_{what.lower()}",
            table="scheduling_unitreservation",
            before=what,
            when="NEW.freed_at IS NULL AND EXISTS (SELECT 1 FROM implants_unit u "
            "WHERE u.id = NEW.unit_id AND u.expiry < NEW.used_on)",
            says="a box past its use-by date by then is not reserved",
            lock=_UNIT,
        )
    yield Guard(
        name="scheduling_reserved_right_side",
        table="scheduling_unitreservation",
        before="INSERT",
        when=_other_side("c.id = NEW.case_id", "NEW.freed_at IS NULL"),
        says="a box for one side is not reserved for the other",
    )


def _uses_of_units() -> Iterator[Guard]:
    """The case of a movement is a reference of the box's site."""
    yield Guard(
        name="scheduling_picked_for_its_case",
        table="implants_unitmovement",
        before="INSERT",
        when=f"{is_kind(Kind.PICK)} AND EXISTS (SELECT 1 FROM scheduling_unitreservation r "
        "JOIN scheduling_case c ON c.id = r.case_id WHERE r.unit_id = NEW.unit_id "
        "AND r.freed_at IS NULL AND c.ref <> NEW.case_ref)",
        says="a box that is reserved for another case is not picked",
        lock=_UNIT,
    )
    of_case = "c.ref = NEW.case_ref AND c.site_id = u.site_id"
    yield Guard(
        name="scheduling_picked_right_side",
        table="implants_unitmovement",
        before="INSERT",
        when=_other_side(of_case, is_kind(Kind.PICK)),
        says="a box for one side is not picked for the other",
    )
    yield Guard(
        name="scheduling_implanted_right_side",
        table="implants_unitmovement",
        before="INSERT",
        when=_other_side(
            of_case,
            f"{is_kind(Kind.IMPLANT)} AND (NEW.second_id IS NULL OR NEW.reason = '')",
        ),
        says="a box for the other side is recorded with a reason and by two people",
    )


def _other_side(case: str, also: str) -> Sql:
    """SQL: `also`, and box and case both have a side and not the same."""
    return {
        vendor: f"{also} AND EXISTS (SELECT 1 FROM implants_unit u "
        "JOIN implants_implant i ON i.id = u.implant_id "
        f"JOIN scheduling_case c ON {case} WHERE u.id = NEW.unit_id AND c.side <> '' "
        f"AND {side} <> '' AND {side} <> c.side)"
        for vendor, side in _SIDE.items()
    }


def _uses_of_trays() -> Iterator[Guard]:
    held = ", ".join(f"'{stage.value}'" for stage in HELD_STAGES)
    yield Guard(
        name="scheduling_reserved_tray_usable",
        table="scheduling_trayreservation",
        before="INSERT",
        when="NEW.freed_at IS NULL AND EXISTS (SELECT 1 FROM trays_tray t "
        f"WHERE t.id = NEW.tray_id AND t.stage IN ({held}) AND t.expected_at IS NULL)",
        says="a tray on hold is not reserved",
        lock="trays_tray WHERE id = NEW.tray_id",
    )
    for what, but in ((INSERT_AND_UPDATE[0], ""), (INSERT_AND_UPDATE[1], "AND o.id <> OLD.id ")):
        yield Guard(
            name=f"scheduling_tray_uses_apart_{what.lower()}",
            table="scheduling_trayreservation",
            before=what,
            when="NEW.freed_at IS NULL AND EXISTS (SELECT 1 FROM scheduling_trayreservation o "
            f"WHERE o.tray_id = NEW.tray_id AND o.freed_at IS NULL {but}"
            "AND o.busy_from < NEW.busy_until AND NEW.busy_from < o.busy_until)",
            says="two uses of a tray overlap",
            only="sqlite",
        )


def _openings() -> Iterator[Guard]:
    yield Guard(
        name="scheduling_opened_not_put_back",
        table="implants_unitmovement",
        before="INSERT",
        when=f"{is_kind(Kind.PUT_BACK)} AND EXISTS (SELECT 1 FROM scheduling_opening o "
        "WHERE o.unit_id = NEW.unit_id)",
        says="a box that was opened does not go back to the shelf",
        lock=_UNIT,
    )
    for table in ("opening", "labelcheck", "traytaken", "outsidebox", "outsideboxvoid"):
        for what in CHANGES:
            yield Guard(
                name=f"scheduling_{table}_no_{what.lower()}",
                table=f"scheduling_{table}",
                before=what,
                when="TRUE",
                says="what happened in theatre is added, never changed",
            )
