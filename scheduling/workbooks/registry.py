"""Every kind of workbook, in the order in which an empty house is filled; a count comes later."""

from __future__ import annotations

from collections.abc import Mapping

from deploy.kit.imports.kind import ImportKind
from implants.workbooks.catalogue import Catalogue
from implants.workbooks.shelf import Shelf
from implants.workbooks.shelf_count import ShelfCount
from scheduling.workbooks.case_list import CaseList
from scheduling.workbooks.house import House
from scheduling.workbooks.plans import Plans
from scheduling.workbooks.techniques import Techniques
from trays.workbooks.count_sheets import CountSheets
from trays.workbooks.trays import Trays

KINDS: tuple[ImportKind, ...] = (
    House(),
    Catalogue(),
    CountSheets(),
    Trays(),
    Shelf(),
    Techniques(),
    CaseList(),
    Plans(),
    ShelfCount(),
)
BY_SLUG: Mapping[str, ImportKind] = {kind.spec.kind.replace(" ", "-"): kind for kind in KINDS}
"""As it stands in addresses and commands → the kind."""
