"""The techniques as a workbook: which sets, items, checks and confirmations a plan asks for.

A technique is what its rows say, in their order; rows that the workbook no longer has are gone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from deploy.kit.imports.kind import Rows
from deploy.kit.imports.results import Comparison, Difference, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.columns import Column, Kind, SheetSpec, WorkbookSpec
from deploy.kit.workbooks.values import Row, Sheet, Value
from scheduling.coverage.values import Technique
from scheduling.models import Technique as TechniqueRow
from scheduling.operations.techniques import write_technique
from scheduling.techniques.catalogue import KnownCatalogue, known_catalogue
from scheduling.techniques.stored import technique_of
from scheduling.techniques.validation import (
    check_faults,
    confirmation_faults,
    rule_faults,
    set_faults,
)
from scheduling.workbooks import technique_cells as cells

OF_TECHNIQUE = Column("Technique", Kind.CODE, key=True, most=64)
TECHNIQUES = SheetSpec("Techniques", (OF_TECHNIQUE, Column("Name", most=200)), once=("Technique",))


@dataclass(frozen=True, slots=True)
class _Part:
    """One kind of part: its sheet, the field of a technique, and how its rows are read and said."""

    sheet: SheetSpec
    field: str
    read: Callable[[cells.Cells], Any]
    say: Callable[[Any], dict[str, Value]]
    faults: Callable[[Any, KnownCatalogue], list[tuple[str, str]]]
    names: Callable[[Any], str]


def _sheet(name: str, columns: tuple[Column, ...], once: tuple[str, ...] = ()) -> SheetSpec:
    return SheetSpec(
        name,
        (OF_TECHNIQUE, *columns),
        once=("Technique", *once) if once else (),
        may_be_empty=True,
    )


PARTS = (
    _Part(
        _sheet("Sets", cells.SET_COLUMNS, ("Purpose",)),
        "sets",
        cells.read_set_row,
        cells.say_set_row,
        set_faults,
        lambda part: str(part.purpose),
    ),
    _Part(
        _sheet("Rules", cells.RULE_COLUMNS),
        "rules",
        cells.read_rule_row,
        cells.say_rule_row,
        rule_faults,
        lambda part: f"{part.need} {part.role}",
    ),
    _Part(
        _sheet("Checks", cells.CHECK_COLUMNS, ("Check",)),
        "checks",
        cells.read_check_row,
        cells.say_check_row,
        check_faults,
        lambda part: str(part.code),
    ),
    _Part(
        _sheet("Confirmations", cells.CONFIRMATION_COLUMNS, ("Confirmation",)),
        "confirmations",
        cells.read_confirmation_row,
        cells.say_confirmation_row,
        confirmation_faults,
        lambda part: str(part.code),
    ),
)
COLUMN_OF_FIELD = {
    "options": "Options",
    "when": "When",
    "select": "Select",
    "need": "Need",
    "role": "Role",
    "left": "Left",
    "right": "Right",
}


class Techniques:
    spec = WorkbookSpec("techniques", (TECHNIQUES, *(part.sheet for part in PARTS)))
    title = "Techniques"
    about = "From plan to needs: sets, rules, checks and confirmations of each technique."
    permission = "scheduling.change_technique"

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Eight queries."""
        there = _there(site)
        known = known_catalogue(site)
        stated = {
            str(row.values["Technique"]): Technique(
                str(row.values["Technique"]), str(row.values.get("Name", ""))
            )
            for row in sheets[TECHNIQUES.name].rows
        }
        results: list[RowResult] = []
        for part in PARTS:
            for row in sheets[part.sheet.name].rows:
                result, read = _judged_part(part, row, stated, there, known)
                results.append(result)
                if read is not None:
                    of = stated[str(row.values["Technique"])]
                    more: Any = {part.field: (*getattr(of, part.field), read)}
                    stated[of.code] = replace(of, **more)
        heads = [_judged(row, stated, there) for row in sheets[TECHNIQUES.name].rows]
        return Comparison((*heads, *results))

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        for row in comparison.of(TECHNIQUES.name, Outcome.NEW, Outcome.CHANGED):
            write_technique(technique=row.act, by=by)

    def rows(self, site: Site) -> Rows:
        there = _there(site)
        return {
            TECHNIQUES.name: ({"Technique": one.code, "Name": one.name} for one in there.values()),
            **{part.sheet.name: _said(part, there) for part in PARTS},
        }


def _there(site: Site) -> dict[str, Technique]:
    """Five queries."""
    rows = TechniqueRow.objects.filter(site=site).prefetch_related(
        "sets", "rules", "checks", "confirmations"
    )
    return {row.code: technique_of(row) for row in rows}


def _said(part: _Part, there: Mapping[str, Technique]) -> Iterator[Mapping[str, Value]]:
    for code, technique in there.items():
        for one in getattr(technique, part.field):
            yield {OF_TECHNIQUE.name: code, **part.say(one)}


def _judged(row: Row, stated: Mapping[str, Technique], there: Mapping[str, Technique]) -> RowResult:
    code = str(row.values["Technique"])
    after, before = stated[code], there.get(code)
    what = f"{code} {after.name}".strip()
    if before is None:
        return RowResult(TECHNIQUES.name, row.number, what, Outcome.NEW, act=after)
    changes = [Difference("Name", before.name, after.name)] if before.name != after.name else []
    for part in PARTS:
        old, new = getattr(before, part.field), getattr(after, part.field)
        gone = [one for one in old if one not in new]
        if gone:
            names = ", ".join(map(part.names, gone))
            changes.append(Difference(part.sheet.name, names, "no longer there, or changed"))
        elif old != new and not [one for one in new if one not in old]:
            changes.append(Difference(part.sheet.name, "", "in another order"))
        elif old != new:
            changes.append(Difference(part.sheet.name, str(len(old)), str(len(new))))
    outcome = Outcome.CHANGED if changes else Outcome.SAME
    return RowResult(TECHNIQUES.name, row.number, what, outcome, tuple(changes), act=after)


def _judged_part(
    part: _Part,
    row: Row,
    stated: Mapping[str, Technique],
    there: Mapping[str, Technique],
    known: KnownCatalogue,
) -> tuple[RowResult, Any]:
    """The row's result, and the part that it says where it can be read."""
    code = str(row.values["Technique"])
    faults: list[str] = []
    if code not in stated:
        faults.append(f"Technique: {code} is not on the sheet {TECHNIQUES.name}. Add it there.")
    read = None
    try:
        read = part.read(row.values)
    except cells.CellFaults as unread:
        faults += unread.faults
    else:
        faults += [
            f"{COLUMN_OF_FIELD.get(field, field)}: {fault}."
            for field, fault in part.faults(read, known)
        ]
    what = f"{code}: {part.names(read)}" if read is not None else code
    before = getattr(there.get(code, Technique(code)), part.field)
    outcome = Outcome.SAME if read in before else Outcome.NEW
    if faults:
        return RowResult(
            part.sheet.name, row.number, what, Outcome.REFUSED, (), tuple(faults)
        ), None
    return RowResult(part.sheet.name, row.number, what, outcome), read
