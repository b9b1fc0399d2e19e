"""All that is decided about one catalogue implant: claims, sharing, reasons, as report lines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduling.coverage.clock import Clock
from scheduling.coverage.implant_claims import CaseItem, Wanting, claim_item
from scheduling.coverage.implant_reasons import ImplantReasons
from scheduling.coverage.report import Lean, Line, Reason
from scheduling.coverage.sharing import Leaning, share
from scheduling.coverage.values import Implant, Unit


@dataclass(frozen=True, slots=True)
class ItemOutcome:
    """Lines and notes by case reference."""

    lines: Mapping[str, Sequence[Line]]
    notes: Mapping[str, Sequence[Reason]]


def item_outcome(
    clock: Clock, implant: Implant, units: Sequence[Unit], wanting: Sequence[Wanting]
) -> ItemOutcome:
    """Decide one item: `units` in shelf order, `wanting` in precedence order."""
    result = claim_item(clock, units, wanting)
    leanings: dict[int, list[Leaning]] = defaultdict(list)
    for leaning in share(clock, implant, units, result.lines):
        leanings[id(leaning.line)].append(leaning)
    reasons = ImplantReasons(clock, implant, units, result.lines)
    lines: dict[str, list[Line]] = defaultdict(list)
    for line in result.lines:
        lent = leanings.get(id(line), ())
        lines[line.case.ref].append(_line(implant.ref, line, lent, reasons))
    notes: dict[str, list[Reason]] = defaultdict(list)
    for ref, unit in result.refused_reservations:
        notes[ref].append(Reason("reservation not honoured", {"unit": unit}))
    return ItemOutcome(lines, notes)


def _line(item: str, line: CaseItem, leanings: Sequence[Leaning], reasons: ImplantReasons) -> Line:
    replaced = sum([leaning.replaced for leaning in leanings])
    return Line(
        need=line.need,
        item=item,
        quantity=line.quantity,
        held=len(line.held) + replaced,
        conditional=len(line.on_order),
        shared=len(leanings) - replaced,
        short=line.short - len(leanings),
        units=(*line.held, *line.on_order),
        leans_on=tuple([Lean(leaning.unit, leaning.owner) for leaning in leanings]),
        because=reasons.of(line, leanings) if line.short or line.on_order else (),
    )
