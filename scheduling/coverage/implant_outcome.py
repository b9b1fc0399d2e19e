"""All that is decided about one catalogue implant: claims, sharing, reasons, as report lines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from scheduling.coverage.clock import Clock
from scheduling.coverage.implant_claims import CaseItem, Reserved, Wanted, claim_item
from scheduling.coverage.implant_reasons import ImplantReasons
from scheduling.coverage.report import Lean, Line, Reason
from scheduling.coverage.sharing import Leaning, share
from scheduling.coverage.values import Implant, Unit


class ItemOutcome(NamedTuple):
    """Lines and notes, each with its case's reference; the lines of a case by level."""

    lines: Sequence[tuple[str, Line]]
    notes: Sequence[tuple[str, Reason]]


def item_outcome(
    clock: Clock,
    implant: Implant,
    units: Sequence[Unit],
    wanted: Iterable[Wanted],
    reserved: Iterable[Reserved],
) -> ItemOutcome:
    """Decide one item: `units` in shelf order, the others as `claim_item` asks for them."""
    found, refused = claim_item(clock, units, wanted, reserved)
    leanings: dict[int, list[Leaning]] = defaultdict(list)
    for leaning in share(clock, implant, units, found):
        leanings[id(leaning.line)].append(leaning)
    reasons = ImplantReasons(clock, implant, units, found)
    return ItemOutcome(
        [
            (
                of.case.ref,
                _line(implant.ref, of, leanings.get(id(of), ()), reasons)
                if of.short or of.on_order
                else Line(of.need, implant.ref, of.quantity, of.quantity, units=of.held),
            )
            for of in found
        ],
        [(case.ref, Reason("reservation not honoured", {"unit": unit})) for case, unit in refused],
    )


def _line(item: str, line: CaseItem, leanings: Sequence[Leaning], reasons: ImplantReasons) -> Line:
    """A line that is not held by boxes on the shelf alone."""
    replaced = sum([leaning.replaced for leaning in leanings])
    return Line(
        need=line.need,
        item=item,
        quantity=line.quantity,
        held=len(line.held) + replaced,
        conditional=len(line.on_order),
        shared=len(leanings) - replaced,
        short=line.short - len(leanings),
        units=line.held + line.on_order,
        leans_on=tuple([Lean(leaning.unit, leaning.owner) for leaning in leanings]),
        because=reasons.of(line, leanings),
    )
