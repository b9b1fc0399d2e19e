"""The one path of every import.  The dry run is the same path, and stops before the writing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction

from deploy.kit.doors import may_enter
from deploy.kit.imports.kind import ImportKind
from deploy.kit.imports.results import Comparison, Outcome, RowResult
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.once import claim_file
from deploy.kit.workbooks.reading import Progress, read_workbook
from deploy.kit.workbooks.refused import refused_rows
from deploy.kit.workbooks.values import Reading, Sheet
from deploy.kit.workbooks.writing import write_workbook

NO_COMPARISON = Comparison(())

MOST_BY_ONE = 500
"""Rows that one person may bring or change at once; more take a second person."""


class TwoPeopleNeeded(Exception):
    """The workbook would write more rows than one person may."""

    code = "two_people_needed"

    def __init__(self, writes: int) -> None:
        self.writes = writes
        super().__init__(f"{writes} rows take a second person: one may write {MOST_BY_ONE}")


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the workbook says, and what it would change.

    `comparison` holds the rows that could be read, those refused by their cells among them;
    `ok`: every row can be written.
    """

    kind: ImportKind
    reading: Reading
    comparison: Comparison

    @property
    def ok(self) -> bool:
        return self.reading.ok and self.comparison.ok

    @property
    def has_refused_rows(self) -> bool:
        """Not so where the file or a sheet of it can't be read, and the rows are not at fault."""
        return bool(self.comparison.reasons()) or any(True for _ in self.reading.refused_rows())

    def refused_workbook(self) -> bytes:
        """The refused rows, each with its reasons, to mend and send again."""
        return refused_rows(self.kind.spec, self.reading, self.comparison.reasons())

    def as_read(self) -> Proposal:
        """Before it was compared: the writing compares anew, and 20,000 rows twice are 40 MB."""
        return replace(self, comparison=NO_COMPARISON)


def propose(
    kind: ImportKind, data: bytes, *, site: Site, now: datetime, progress: Progress | None = None
) -> Proposal:
    """The dry run: nothing is changed.  `progress` is told the number of rows read so far."""
    return judged(kind, read_workbook(data, kind.spec, progress=progress), site=site, now=now)


def judged(kind: ImportKind, reading: Reading, *, site: Site, now: datetime) -> Proposal:
    """The rows that fit their columns beside the record; the others are refused by their cells.

    Where the file itself or a sheet can't be read there is nothing to compare.
    """
    if any(fault.place.row is None for fault in reading.faults):
        return Proposal(kind, reading, NO_COMPARISON)
    comparison = kind.compare(_fitting(reading.sheets), site=site, now=now)
    unfit = tuple(
        RowResult(
            sheet.name,
            row.number,
            _first_cell(row.stood),
            Outcome.REFUSED,
            reasons=tuple(fault.beside_row for fault in row.faults),
        )
        for sheet, row in reading.refused_rows()
    )
    order = {name: place for place, name in enumerate(reading.sheets)}
    rows = sorted((*comparison.rows, *unfit), key=lambda row: (order[row.sheet], row.row))
    return Proposal(kind, reading, Comparison(tuple(rows)))


@transaction.atomic
def import_workbook(
    proposal: Proposal, *, by: Person, now: datetime, second: Person | None = None
) -> Proposal:
    """Write all of it, or nothing.

    The rows are compared anew inside the transaction, one import a site at a time, so what is
    written is what stands then: the answer says it.  Nothing is written unless `ok`.
    AlreadyImported where this file was imported before; TwoPeopleNeeded for more than 500 rows
    without another person of the site, who may import it too.
    """
    Site.objects.select_for_update().get(pk=by.site_id)
    again = judged(proposal.kind, proposal.reading, site=by.site, now=now)
    if again.ok:
        if again.comparison.writes > MOST_BY_ONE and not _is_another(second, by, proposal.kind):
            raise TwoPeopleNeeded(again.comparison.writes)
        claim_file(kind=proposal.kind.spec.kind, sha256=proposal.reading.sha256, by=by)
        proposal.kind.write(again.comparison, by=by, now=now)
    return again


def _is_another(second: Person | None, by: Person, kind: ImportKind) -> bool:
    return (
        second is not None
        and second.pk != by.pk
        and second.site_id == by.site_id
        and may_enter(second.user, (kind.permission,))
    )


def export_workbook(kind: ImportKind, site: Site) -> bytes:
    """The record as a workbook of that kind."""
    return write_workbook(kind.spec, kind.rows(site))


def _fitting(sheets: Mapping[str, Sheet]) -> dict[str, Sheet]:
    return {
        name: replace(
            sheet,
            rows=tuple(row for row in sheet.rows if not row.faults),
            unfit=tuple(row for row in sheet.rows if row.faults),
        )
        for name, sheet in sheets.items()
    }


def _first_cell(stood: Mapping[str, object]) -> str:
    return next((str(value) for value in stood.values() if value is not None), "")
