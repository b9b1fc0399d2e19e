"""Breaches among live reservations, looked for without trusting the rules that prevent them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from django.db.models import Count

from scheduling.models import TrayReservation, UnitReservation
from scheduling.operations.locks import OPEN_STATUSES


def breaches(using: str) -> Iterator[str]:
    """A line each: a box promised twice, uses of a tray that overlap, a promise to a case that is
    over.  Four queries."""
    boxes = UnitReservation.objects.using(using).filter(freed_at=None)
    twice = boxes.values("unit__code").annotate(times=Count("pk")).filter(times__gt=1)
    for code, times in twice.values_list("unit__code", "times").order_by("unit__code"):
        yield f"unit {code}: reserved {times} times at once"
    trays = TrayReservation.objects.using(using).filter(freed_at=None)
    uses = trays.select_related("tray", "case").order_by("tray__code", "busy_from", "case__ref")
    for code, of_tray in groupby(uses, key=lambda use: use.tray.code):
        last, *later = of_tray
        for use in later:
            if use.busy_from < last.busy_until:
                yield f"tray {code}: its uses for {last.case} and {use.case} overlap"
            last = max(last, use, key=lambda each: each.busy_until)
    for kind, live in (("unit", boxes), ("tray", trays)):
        over = live.exclude(case__status__in=OPEN_STATUSES)
        for code, ref in over.values_list(f"{kind}__code", "case__ref").order_by("pk"):
            yield f"{kind} {code}: still reserved for case {ref}, which is over"
