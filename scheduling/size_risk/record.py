"""The house's own record, line by line: how far the size used lay from the size planned. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from scheduling.size_risk.difference import Rungs

Size = int | Decimal


@dataclass(frozen=True, slots=True, order=True)
class Line:
    """One row of sizes: a role and a system; `system` is empty where none is named."""

    role: str
    system: str


@dataclass(frozen=True, slots=True)
class Implanted:
    """One implant of a case: what was planned, and what was used."""

    surgeon: str
    planned_line: Line
    planned: Size
    used_line: Line
    used: Size


@dataclass(frozen=True, slots=True)
class LineRecord:
    """`counts`: used − planned, in rungs → how many cases; `by_surgeon`: the same for each.
    `left_out`: planned on this line, and not to be counted: another line was used, or a size that
    the catalogue does not hold."""

    line: Line
    counts: Mapping[Rungs, int]
    by_surgeon: Mapping[str, Mapping[Rungs, int]]
    left_out: int

    @property
    def cases(self) -> int:
        return sum(self.counts.values())

    def of(self, surgeon: str) -> Mapping[Rungs, int]:
        """The record of the surgeon's cases; of all, where none is named."""
        return self.by_surgeon.get(surgeon, {}) if surgeon else self.counts


def records(
    implanted: Iterable[Implanted], sizes: Mapping[Line, Sequence[Size]]
) -> dict[Line, LineRecord]:
    """The record of every line that something was planned on.  `sizes`: what is made, in order."""
    rungs = {line: {size: place for place, size in enumerate(made)} for line, made in sizes.items()}
    counts: dict[Line, Counter[Rungs]] = defaultdict(Counter)
    by_surgeon: dict[Line, dict[str, Counter[Rungs]]] = defaultdict(lambda: defaultdict(Counter))
    left_out: Counter[Line] = Counter()
    for one in implanted:
        line = one.planned_line
        places = rungs.get(line, {})
        counts[line].update(())
        if one.used_line != line or one.planned not in places or one.used not in places:
            left_out[line] += 1
            continue
        difference = places[one.used] - places[one.planned]
        counts[line][difference] += 1
        by_surgeon[line][one.surgeon][difference] += 1
    return {
        line: LineRecord(
            line=line,
            counts=dict(sorted(counted.items())),
            by_surgeon={
                surgeon: dict(sorted(theirs.items()))
                for surgeon, theirs in sorted(by_surgeon[line].items())
            },
            left_out=left_out[line],
        )
        for line, counted in sorted(counts.items())
    }
