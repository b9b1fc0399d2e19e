"""Reads about orders: how far each line is, by what its boxes say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from deploy.kit.models import Site
from implants.models import Order, OrderLine, Unit
from implants.order_states import OPEN, OrderState
from implants.states import UnitState


@dataclass(frozen=True, slots=True)
class LineProgress:
    """A line and its boxes.  quantity = here + awaited + undated + not_coming.

    `undated`: asked for and without a date.  A struck box never was one.
    """

    line: OrderLine
    boxes: tuple[Unit, ...]

    @property
    def here(self) -> int:
        return sum(is_here(box) for box in self.boxes)

    @property
    def awaited(self) -> int:
        return sum(is_awaited(box) for box in self.boxes)

    @property
    def undated(self) -> int:
        if not self.line.sends_boxes:
            return 0
        return self.line.quantity - self.line.not_coming - self.here - self.awaited

    @property
    def next_date(self) -> datetime | None:
        return min((box.expected_at for box in self.boxes if box.expected_at), default=None)

    def late(self, now: datetime) -> int:
        """Boxes whose date has passed and that nobody has received."""
        return sum(box.expected_at is not None and box.expected_at < now for box in self.boxes)


def is_here(box: Unit) -> bool:
    """It was received, whatever became of it then."""
    return box.expected_at is None and box.state != UnitState.STRUCK


def is_awaited(box: Unit) -> bool:
    return box.expected_at is not None


def progress_of(line: OrderLine) -> LineProgress:
    """One query."""
    return LineProgress(line, tuple(line.boxes.order_by("pk")))


def lines_of(order: Order) -> list[LineProgress]:
    """Every line of the order.  Two queries."""
    return _progress(order.lines.all())


def open_orders(site: Site) -> dict[Order, list[LineProgress]]:
    """Drafts and what is with the suppliers, each with its lines.  Four queries."""
    orders = (
        Order.objects.filter(site=site, state__in=OPEN)
        .select_related("supplier", "site")
        .prefetch_related(Prefetch("lines", queryset=_with_boxes(OrderLine.objects.all())))
    )
    return {
        order: [LineProgress(line, tuple(line.boxes.all())) for line in order.lines.all()]
        for order in orders
    }


def shown_state(order: Order, lines: Iterable[LineProgress]) -> str:
    """The state as people say it: a confirmed order is received in part, then in full."""
    if order.state != OrderState.CONFIRMED:
        return order.state
    lines = list(lines)
    here = sum(line.here for line in lines)
    to_come = sum(line.awaited + line.undated for line in lines)
    if not to_come:
        return "received in full"
    return "received in part" if here else order.state


def _progress(lines: QuerySet[OrderLine]) -> list[LineProgress]:
    return [LineProgress(line, tuple(line.boxes.all())) for line in _with_boxes(lines)]


def _with_boxes(lines: QuerySet[OrderLine]) -> QuerySet[OrderLine]:
    boxes = Unit.objects.order_by("pk")
    return lines.select_related("implant", "instead_of__implant").prefetch_related(
        Prefetch("boxes", queryset=boxes)
    )
