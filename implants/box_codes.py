"""The house's own codes of boxes: B and a number, counted up."""

from __future__ import annotations

from collections.abc import Iterator

from deploy.kit.models import Site
from implants.models import Unit

PREFIX = "B"
DIGITS = 6


def new_box_codes(site: Site, number: int) -> Iterator[str]:
    """`number` codes that no box of the site has had.  One query.

    Call it in the transaction that saves the boxes; of two at once the second fails at the unique
    code and is sent again.
    """
    taken = Unit.objects.filter(site=site, code__startswith=PREFIX).values_list("code", flat=True)
    last = max((int(code[1:]) for code in taken if code[1:].isdecimal()), default=0)
    return (f"{PREFIX}{last + step:0{DIGITS}d}" for step in range(1, number + 1))
