"""Workbooks that these tests send."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from deploy.kit.imports.importing import Proposal, import_workbook, propose
from deploy.kit.imports.kind import ImportKind
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.values import Value
from deploy.kit.workbooks.writing import write_workbook
from tests import factories

Rows = Sequence[Mapping[str, Value | None]]


def proposed(kind: ImportKind, site: Site, **sheets: Rows) -> Proposal:
    rows: dict[str, Any] = {name.replace("_", " "): rows for name, rows in sheets.items()}
    return propose(kind, write_workbook(kind.spec, rows), site=site, now=factories.NOW)


def written(proposal: Proposal, by: Person) -> Proposal:
    done = import_workbook(proposal, by=by, now=factories.NOW)
    assert done.ok, done.comparison.reasons()
    return done


def reasons(proposal: Proposal) -> list[str]:
    return [reason for row in proposal.comparison.rows for reason in row.reasons]


def changes(proposal: Proposal) -> list[tuple[str, str, str]]:
    return [
        (one.column, one.before, one.after)
        for row in proposal.comparison.rows
        for one in row.differences
    ]
