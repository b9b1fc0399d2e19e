"""The order list in words: why, how many, on what terms."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from scheduling.ordering.values import ToOrder, Want

BUY = "buy"


def moment_in_words(moment: datetime) -> str:
    """`Tue 2 Mar 15:00`"""
    return f"{moment:%a} {moment.day} {moment:%b %H:%M}"


def terms_in_words(owner: str, terms: str) -> str:
    """What the supplier is asked for: `to buy`, `on consignment`, `on loan`, or the bill."""
    if terms != BUY:
        return terms
    return "to buy" if owner == "owned" else f"on {owner}"


def want_in_words(want: Want) -> str:
    """`case OG-1012 lacks 1 planned; order by Tue 2 Mar 15:00`"""
    said = f"case {want.case} lacks {want.number} {want.need}"
    return f"{said}; order by {moment_in_words(want.order_by)}" if want.order_by else said


def why_in_words(row: ToOrder) -> Iterator[str]:
    """A sentence a source, without a full stop."""
    for want in row.wants:
        yield want_in_words(want)
    cases = sorted({use.case for use in row.uses if use.case})
    if row.uses:
        of = f" (case {', '.join(cases)})" if cases else ""
        yield f"{len(row.uses)} used and not settled yet{of}"
    if row.for_par:
        yield (
            f"par level {row.par}: {row.usable} usable here, {row.awaited + row.undated} on order"
        )


def reckoning(row: ToOrder) -> list[tuple[str, str, int]]:
    """How the number comes about: the source, its sum in figures, and what it comes to."""
    said = [
        (
            "Booked cases",
            f"{row.short_for_cases} lacking − {row.undated} on order without a date",
            row.for_cases,
        ),
        (
            "Replacement",
            f"{row.replacing} used − {row.free_on_order} on order for nobody yet",
            row.for_uses,
        ),
    ]
    if row.par is not None:
        said.append(
            (
                "Par level",
                f"{row.par} − {row.usable} usable here − {row.awaited} on their way "
                f"− {row.undated} on order without a date",
                row.for_par,
            )
        )
    return said
