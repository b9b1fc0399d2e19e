"""A kind of workbook that may be imported and exported: what every kind can do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Protocol

from deploy.kit.imports.results import Comparison
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.columns import WorkbookSpec
from deploy.kit.workbooks.values import Sheet, Value

Rows = Mapping[str, Iterable[Mapping[str, Value | None]]]
"""Sheet → rows of column → value, as `write_workbook` takes them."""


class ImportKind(Protocol):
    """`permission`: who may import it.  `title` and `about` are for people."""

    spec: WorkbookSpec
    title: str
    about: str
    permission: str

    def compare(self, sheets: Mapping[str, Sheet], *, site: Site, now: datetime) -> Comparison:
        """Every row beside the record.  A fixed number of queries; nothing is changed."""

    def write(self, comparison: Comparison, *, by: Person, now: datetime) -> None:
        """Write the rows that are new or changed.  Inside the import's transaction."""

    def rows(self, site: Site) -> Rows:
        """The record in the workbook's terms: what goes out comes back as the same."""
