"""What reading a workbook found, as the page and the command say it."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from typing import Any

from deploy.kit.imports.importing import MOST_BY_ONE, Proposal
from deploy.kit.imports.results import Outcome, RowResult

MOST_SHOWN = 200
"""Rows of one outcome that are shown; the refused ones all come back as a workbook."""

ORDER = (Outcome.REFUSED, Outcome.CHANGED, Outcome.NEW)


def findings_of(proposal: Proposal) -> dict[str, Any]:
    """Plain values: `ok`, `writes`, `counts` and up to 200 rows an outcome, `faults` of the file
    itself, `notices`, and the GTINs that a person must confirm."""
    comparison = proposal.comparison
    faults = [str(fault) for fault in proposal.reading.faults if fault.place.row is None]
    return {
        "ok": proposal.ok,
        "writes": comparison.writes,
        "takes_two": comparison.writes > MOST_BY_ONE,
        "counts": {outcome.value: comparison.counts[outcome] for outcome in Outcome},
        "faults": faults,
        "notices": [str(notice) for notice in proposal.reading.notices],
        "confirm": [str(restored) for restored in proposal.reading.restored],
        "groups": [
            {"outcome": outcome.value, "count": comparison.counts[outcome], "rows": _shown(rows)}
            for outcome in ORDER
            if (rows := [row for row in comparison.rows if row.outcome is outcome])
        ],
    }


def _shown(rows: Iterable[RowResult]) -> list[dict[str, Any]]:
    return [
        {
            "sheet": row.sheet,
            "row": row.row,
            "what": row.what,
            "changes": [
                {"column": one.column, "before": one.before, "after": one.after}
                for one in row.differences
            ],
            "reasons": list(row.reasons),
        }
        for row in islice(rows, MOST_SHOWN)
    ]
