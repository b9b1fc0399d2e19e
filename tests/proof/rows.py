"""All that the small house of the proof holds, read at once, and what must be true of it always.

A second opinion beside `verify_ledger`: it shares no code with the operations or their rules.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache, partial
from itertools import pairwise
from typing import Any, NamedTuple

from django.db import connection

from deploy.kit.models import Site
from implants.models import Implant, Unit, UnitMove, UnitMovement
from scheduling.models import Case, TrayReservation, UnitReservation
from trays.models import Tray, TrayMove, TrayMovement

GONE = ("implanted", "wasted", "returned to supplier", "entered in error")
HELD = ("quarantine", "recalled")
TWO_PEOPLE = ("lift the hold", "correct")
OVER = ("ended", "cancelled")


class Entry(NamedTuple):
    """A movement.  Plain values: there are many, and they are read after every step."""

    item: int
    seq: int
    before: str
    after: str
    kind: str
    by: int | None
    second: int | None
    day: date
    reason: str
    case_ref: str
    request_key: str

    @classmethod
    def read(cls, movements: Any, moves: Any, item: str) -> list[Entry]:
        of, move = movements._meta.db_table, moves._meta.db_table
        with connection.cursor() as cursor:
            cursor.execute(
                f"SELECT {item}, seq, from_state, to_state, kind, by_id, second_id, day, reason, "
                f"case_ref, request_key FROM {of} JOIN {move} ON {move}.id = move_id "
                f"ORDER BY {item}, seq"
            )
            found = [cls(*row) for row in cursor.fetchall()]
        if connection.vendor == "sqlite":
            return [one._replace(day=date.fromisoformat(str(one.day))) for one in found]
        return found


@dataclass(frozen=True, slots=True)
class Fixed:
    """What no operation of the proof changes, by key."""

    sites: dict[int, Site]
    implants: dict[int, Implant]

    @classmethod
    def read(cls) -> Fixed:
        return cls(_table(Site), _table(Implant))


@dataclass(frozen=True, slots=True)
class Rows:
    """As the tables have them, in the order of their keys.  Live reservations only."""

    cases: dict[int, Case]
    units: dict[int, Unit]
    trays: dict[int, Tray]
    of_units: list[Entry]
    of_trays: list[Entry]
    boxes: list[UnitReservation]
    uses: list[TrayReservation]

    @classmethod
    def read(cls, fixed: Fixed) -> Rows:
        """Seven queries, in plain SQL: Django would spend most of the proof on writing it."""
        live = "WHERE freed_at IS NULL"
        cases, units = _table(Case), _table(Unit)
        for case in cases.values():
            case.site = fixed.sites[case.site_id]
        for unit in units.values():
            unit.implant = fixed.implants[unit.implant_id]
        return cls(
            cases,
            units,
            _table(Tray),
            Entry.read(UnitMovement, UnitMove, "unit_id"),
            Entry.read(TrayMovement, TrayMove, "tray_id"),
            list(_table(UnitReservation, live).values()),
            list(_table(TrayReservation, live).values()),
        )

    def holder(self, unit: Unit) -> Case | None:
        return next((self.cases[one.case_id] for one in self.boxes if one.unit_id == unit.pk), None)

    def users(self, tray: Tray) -> list[Case]:
        return [self.cases[one.case_id] for one in self.uses if one.tray_id == tray.pk]

    def plain(self) -> list[Any]:
        """Every value, to be compared."""
        tables = (*(each.values() for each in (self.cases, self.units, self.trays)),)
        return [
            self.of_units,
            self.of_trays,
            *(
                [[getattr(row, one.attname) for one in row._meta.concrete_fields] for row in rows]
                for rows in (*tables, self.boxes, self.uses)
            ),
        ]

    def follow(self, before: Rows) -> bool:
        """Whether all movements of before are there as they were."""
        return set(self.of_units) >= set(before.of_units) and set(self.of_trays) >= set(
            before.of_trays
        )

    # -- what must hold -------------------------------------------------------------------------

    def violations(self) -> Iterator[str]:
        yield from _ledger(self.units, self.of_units, "state")
        yield from _ledger(self.trays, self.of_trays, "stage")
        for one in self.of_units:
            yield from self._act(one, self.units[one.item])
        yield from self._promised_boxes()
        for pk in self.trays:
            yield from self._uses_of(pk)

    def _act(self, one: Entry, unit: Unit) -> Iterator[str]:
        """A movement by what it says of itself."""
        kind, before = one.kind, one.before
        two = one.by and one.second and one.by != one.second and one.reason
        past = unit.expiry is not None and unit.expiry < one.day
        wrong = self.is_other_side(unit, one.case_ref)
        if kind == "pick" and (past or wrong or before != "on the shelf"):
            yield f"{unit}: picked past its date, for the other side or from {before}"
        if kind == "implant" and (past or wrong or before in HELD) and not two:
            yield f"{unit}: recorded as implanted without two people and a reason"
        if kind in TWO_PEOPLE and not two:
            yield f"{unit}: {kind} by one person"
        if before in GONE and one.after != "quarantine":
            yield f"{unit}: came back from {before}"

    def _promised_boxes(self) -> Iterator[str]:
        seen = set()
        for one in self.boxes:
            unit, case = self.units[one.unit_id], self.cases[one.case_id]
            if one.unit_id in seen:
                yield f"{unit}: promised twice"
            seen.add(one.unit_id)
            if case.status in OVER:
                yield f"{unit}: promised to case {case}, which is over"
            if one.used_on != last_day(case):
                yield f"{unit}: promised for {one.used_on}, the case ends on {last_day(case)}"
            if unit.expiry is not None and unit.expiry < last_day(case):
                yield f"{unit}: promised past its use-by date"
            if self.is_other_side(unit, case.ref):
                yield f"{unit}: promised to the other side"
            if unit.state == "picked" and unit.case_ref != case.ref:
                yield f"{unit}: picked for {unit.case_ref}, promised to {case}"

    def _uses_of(self, tray: int) -> Iterator[str]:
        uses = [one for one in self.uses if one.tray_id == tray]
        for one in uses:
            case = self.cases[one.case_id]
            if case.status in OVER:
                yield f"{self.trays[tray]}: promised to case {case}, which is over"
            if not one.busy_from <= case.start < case.end <= one.busy_until:
                yield f"{self.trays[tray]}: promised for another time than case {case} has"
        for first, then in pairwise(uses):
            if first.busy_from < then.busy_until and then.busy_from < first.busy_until:
                yield f"{self.trays[tray]}: two uses overlap"

    def is_other_side(self, unit: Unit, ref: str) -> bool:
        side = unit.implant.attributes.get("side", "")
        case = next((case for case in self.cases.values() if case.ref == ref), None)
        return bool(side and case is not None and case.side and side != case.side)


def _table(of: Any, where: str = "") -> dict[int, Any]:
    """Its rows, in the order of their keys."""
    columns, names, values_of = _reader(of)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {columns} FROM {of._meta.db_table} {where} ORDER BY id")
        rows = [of.from_db(connection.alias, names, row) for row in values_of(cursor.fetchall())]
    return {row.pk: row for row in rows}


@cache
def _reader(of: Any) -> tuple[str, list[str], Callable[[list[Any]], Iterable[Any]]]:
    """A table's columns, their names in the model, and what makes values of its rows: worked out
    once, since Django would do so for every query."""
    fields = of._meta.concrete_fields
    compiler = of.objects.all().query.get_compiler(connection=connection)
    converters = compiler.get_converters([one.get_col(of._meta.db_table) for one in fields])
    columns = ", ".join(one.column for one in fields)
    names = [one.attname for one in fields]
    return columns, names, partial(compiler.apply_converters, converters=converters)


def last_day(case: Case) -> date:
    """The local day on which the case ends."""
    return (case.start + timedelta(minutes=case.minutes)).astimezone(case.site.zone).date()


def _ledger(items: Any, entries: list[Entry], state: str) -> Iterator[str]:
    chains = defaultdict(list)
    for one in entries:
        chains[one.item].append(one)
    for pk, item in items.items():
        stands, last = "", None
        for number, one in enumerate(chains[pk], start=1):
            if one.seq != number:
                yield f"{item}: movement {one.seq} where {number} comes next"
            if one.before != stands:
                yield f"{item}: leaves {one.before}, was {stands}"
            stands, last = one.after, one
        if (getattr(item, state), item.seq) != (stands, len(chains[pk])):
            yield f"{item}: stands {getattr(item, state)}, its ledger says {stands}"
        if last is not None and item.case_ref != last.case_ref:
            yield f"{item}: is for case {item.case_ref}, its ledger says {last.case_ref}"
