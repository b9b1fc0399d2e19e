"""How far a loan is, by what its trays and boxes say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from implants.models import Unit
from implants.states import HELD, UnitState
from implants.uses import USED
from scheduling.loans.latest import Brings
from scheduling.loans.states import BEFORE_ARRIVAL, HERE, LoanKind, LoanState
from scheduling.models import Loan, LoanBox, LoanLine, LoanTray


@dataclass(frozen=True, slots=True)
class LineProgress:
    """A line and its boxes.  quantity = here + used + gone + awaited + undated + not_delivered."""

    line: LoanLine
    boxes: tuple[Unit, ...]

    def _number(self, *states: str) -> int:
        return sum(unit.state in states for unit in self.boxes)

    @property
    def awaited(self) -> int:
        return sum(unit.expected_at is not None for unit in self.boxes)

    @property
    def used(self) -> int:
        return self._number(*USED)

    @property
    def gone(self) -> int:
        return self._number(UnitState.RETURNED)

    @property
    def here(self) -> int:
        return (
            len(self.boxes) - self._number(UnitState.STRUCK) - self.awaited - self.used - self.gone
        )

    @property
    def came(self) -> int:
        return self.here + self.used + self.gone

    @property
    def on_hold(self) -> int:
        return sum(unit.state in HELD and unit.expected_at is None for unit in self.boxes)

    @property
    def undated(self) -> int:
        return self.line.quantity - self.line.not_delivered - self.came - self.awaited


@dataclass(frozen=True, slots=True)
class Progress:
    """A loan with its trays and lines."""

    loan: Loan
    trays: tuple[LoanTray, ...]
    lines: tuple[LineProgress, ...]

    @property
    def asked(self) -> int:
        return sum(line.line.quantity for line in self.lines)

    @property
    def came(self) -> int:
        return sum(line.came for line in self.lines)

    @property
    def used(self) -> int:
        return sum(line.used for line in self.lines)

    @property
    def checked(self) -> int:
        return sum(line.checked_at is not None for line in self.trays)

    @property
    def is_to_come(self) -> bool:
        return self.loan.state in BEFORE_ARRIVAL

    @property
    def is_here(self) -> bool:
        return self.loan.state in HERE

    def is_late(self, now: datetime) -> bool:
        """Its date, or that of its check-in, has passed."""
        waits = self.loan.state in (LoanState.PROMISED, LoanState.ARRIVED)
        return waits and self.loan.expected_at is not None and self.loan.expected_at < now

    def is_overdue_back(self, now: datetime) -> bool:
        due = self.loan.due_back
        return self.is_here and due is not None and due < self.loan.site.local(now).date()

    def brings(self) -> Brings:
        """What cases may lean on."""
        return Brings(
            trays=frozenset(line.tray.code for line in self.trays),
            configurations=frozenset(line.tray.configuration.code for line in self.trays)
            if self.is_to_come
            else (),
            units=frozenset(unit.code for line in self.lines for unit in line.boxes),
            items=frozenset(line.line.implant.ref for line in self.lines)
            if self.is_to_come
            else (),
        )


def progress(loans: QuerySet[Loan]) -> list[Progress]:
    """Each with its trays and lines.  At most seven queries."""
    trays = LoanTray.objects.select_related("tray__configuration", "checked_by").order_by("pk")
    lines = LoanLine.objects.select_related("implant")
    boxes = LoanBox.objects.select_related("unit").order_by("pk")
    found = loans.prefetch_related(
        Prefetch("trays", trays.prefetch_related("tray__missing_lines__instrument")),
        Prefetch("lines", lines.prefetch_related(Prefetch("boxes", boxes))),
    )
    return [Progress(loan, tuple(loan.trays.all()), _lines(loan.lines.all())) for loan in found]


def _lines(lines: Iterable[LoanLine]) -> tuple[LineProgress, ...]:
    return tuple(LineProgress(line, tuple(box.unit for box in line.boxes.all())) for line in lines)


def arrived_at(loan: Loan) -> datetime | None:
    """When it came; None: not yet.  One query."""
    return _last(loan, LoanKind.ARRIVE)


def went_back_at(loan: Loan) -> datetime | None:
    """When it went back; None: not yet.  One query."""
    return _last(loan, LoanKind.RETURN)


def _last(loan: Loan, kind: LoanKind) -> datetime | None:
    return loan.movements.filter(move__kind=kind).values_list("at", flat=True).first()
