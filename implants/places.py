"""The places of the shelf: a place is known once a box has lain there.

Places have no table of their own: they are what boxes say.  So a place can't be listed and not
exist, and a mistyped one is noticed because no box was ever there.
"""

from __future__ import annotations

from deploy.kit.house_links import HouseKind, read_house_link
from deploy.kit.models import Site
from implants.models import Unit
from implants.udi.keyboard import OPENS_A_CODE


def place_named(text: str, site: Site) -> str | None:
    """The known place that a scanned label or typed text names, as it is written; None if none.

    Capitals do not matter, and the last word is enough where it names one place alone.  At most
    two queries.
    """
    link = read_house_link(text)
    if link is not None and link.kind is not HouseKind.PLACE:
        return None
    wanted = (link.code if link else text.strip()).replace("\0", "")
    if not wanted:
        return None
    there = Unit.objects.filter(site=site).exclude(location="").order_by()
    names = there.values_list("location", flat=True).distinct()
    exact = list(names.filter(location__iexact=wanted)[:2])
    if wanted in exact or len(exact) == 1:
        return wanted if wanted in exact else exact[0]
    ends = list(names.filter(location__iendswith=f" {wanted}")[:2])
    return ends[0] if len(ends) == 1 else None


def place_as_new(text: str) -> str | None:
    """The place that a place's label names, or plain text could be, though no box was there."""
    link = read_house_link(text)
    if link is not None:
        return link.code if link.kind is HouseKind.PLACE else None
    typed = " ".join(text.split())
    if typed[:1] in OPENS_A_CODE:
        return None  # a code that could not be read
    return typed if 2 <= len(typed) <= 64 and typed.isprintable() else None
