"""Refused rows handed back: as they stood, each with its reasons, to mend and send again."""

from __future__ import annotations

from collections.abc import Mapping

from openpyxl.utils import get_column_letter

from deploy.kit.workbooks.columns import REASON, WorkbookSpec
from deploy.kit.workbooks.values import Reading
from deploy.kit.workbooks.writing import WIDEST, WRAPPED, begin_sheet, cell_of, new_book, saved

Reasons = Mapping[tuple[str, int], list[str]]
"""(sheet, row) → sentences, for rows that fit their columns and are refused by what they say."""


def refused_rows(spec: WorkbookSpec, reading: Reading, reasons: Reasons | None = None) -> bytes:
    """An .xlsx in the layout of the template with a column of reasons, which reading skips.

    `reasons` adds what the import itself has against a row.  A formula comes back as its value.
    """
    also = reasons or {}
    with new_book() as book:
        for spec_of_sheet in spec.sheets:
            out = book.create_sheet(spec_of_sheet.name)
            at = get_column_letter(len(spec_of_sheet.columns) + 1)
            out.column_dimensions[at].width = 2 * WIDEST
            begin_sheet(out, spec_of_sheet.columns, REASON)
            sheet = reading.sheets.get(spec_of_sheet.name)
            for row in sheet.rows if sheet else ():
                # A comparison says the faults of the cells again.
                said = dict.fromkeys(
                    [
                        *(fault.beside_row for fault in row.faults),
                        *also.get((spec_of_sheet.name, row.number), []),
                    ]
                )
                if not said:
                    continue
                why = cell_of(out, " ".join(said))
                why.alignment = WRAPPED
                stood = [cell_of(out, row.stood.get(name)) for name in spec_of_sheet.names]
                out.append([*stood, why])
        return saved(book)
