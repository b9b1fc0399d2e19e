"""Orders as the pages show them: how far each line is, and which cases lean on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from deploy.kit.models import Site
from implants.models import Order, Unit
from implants.order_queries import LineProgress, shown_state
from scheduling.coverage.report import Report
from scheduling.ordering.leaning import Leaning, lacking, leaning_on_units
from scheduling.ordering.words import terms_in_words
from scheduling.words import thing_in_words


@dataclass(frozen=True, slots=True)
class DateView:
    """So many boxes at one local moment; None: without a date."""

    number: int
    due: datetime | None
    late: bool


@dataclass(frozen=True, slots=True)
class CaseView:
    """A case that leans on the line; `lacks`: it is short of the item, for the box is late or
    without a date."""

    ref: str
    pk: int | None
    need: str
    needed_by: datetime
    lacks: bool


@dataclass(frozen=True, slots=True)
class LineView:
    progress: LineProgress
    words: str
    terms: str
    dates: tuple[DateView, ...]
    cases: tuple[CaseView, ...]

    @property
    def late(self) -> int:
        return sum(each.number for each in self.dates if each.late)


@dataclass(frozen=True, slots=True)
class OrderView:
    order: Order
    state: str
    lines: tuple[LineView, ...]

    @property
    def asked(self) -> int:
        return sum(
            line.progress.line.quantity - line.progress.line.not_coming
            for line in self.lines
            if line.progress.line.sends_boxes
        )

    @property
    def here(self) -> int:
        return sum(line.progress.here for line in self.lines)

    @property
    def late(self) -> int:
        return sum(line.late for line in self.lines)

    @property
    def next_due(self) -> datetime | None:
        return min(
            (each.due for line in self.lines for each in line.dates if each.due), default=None
        )

    @property
    def cases(self) -> list[CaseView]:
        """Each case once, those that lack something first."""
        by_ref = {
            case.ref: case
            for line in self.lines
            for case in sorted(line.cases, key=lambda case: case.lacks)
        }
        return sorted(by_ref.values(), key=lambda case: (not case.lacks, case.needed_by, case.ref))


def order_view(
    order: Order,
    lines: Sequence[LineProgress],
    report: Report,
    site: Site,
    pks: Mapping[str, int],
) -> OrderView:
    """No query."""
    meant, short = leaning_on_units(report), lacking(report)
    return OrderView(
        order,
        shown_state(order, lines),
        tuple(_line_view(line, meant, short, report.now, site, pks) for line in lines),
    )


def _line_view(
    progress: LineProgress,
    meant: Mapping[str, Leaning],
    short: Mapping[str, tuple[Leaning, ...]],
    now: datetime,
    site: Site,
    pks: Mapping[str, int],
) -> LineView:
    line = progress.line
    cases = [meant[box.code] for box in progress.boxes if box.expected_at and box.code in meant]
    if progress.undated or progress.late(now):
        cases += short.get(line.implant.ref, ())
    return LineView(
        progress=progress,
        words=thing_in_words(line.implant.role, line.implant.exact_attributes()),
        terms=terms_in_words(line.owner, line.terms),
        dates=tuple(_dates(progress, now, site)),
        cases=tuple(
            CaseView(
                each.case,
                pks.get(each.case),
                str(each.need),
                site.local(each.needed_by),
                lacks=not each.unit,
            )
            for each in cases
        ),
    )


def _dates(progress: LineProgress, now: datetime, site: Site) -> list[DateView]:
    def due(box: Unit) -> datetime:
        assert box.expected_at is not None
        return box.expected_at

    awaited = sorted((box for box in progress.boxes if box.expected_at), key=due)
    said = [
        DateView(len(list(boxes)), site.local(moment), late=moment < now)
        for moment, boxes in groupby(awaited, key=due)
    ]
    if progress.undated:
        said.append(DateView(progress.undated, None, late=False))
    return said
