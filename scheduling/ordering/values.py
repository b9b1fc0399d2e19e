"""The order list's input and output, as frozen values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from scheduling.coverage.values import Need


@dataclass(frozen=True, slots=True)
class SupplierTerms:
    """`use_by_days`: what is left of a box's life, at least, when it comes.  When the supplier
    takes orders and delivers, coverage knows (`values.Supplier`)."""

    code: str
    name: str
    use_by_days: int = 365


@dataclass(frozen=True, slots=True)
class Use:
    """A used box that nothing has settled: `terms` is what the supplier is to be asked for."""

    unit: str
    pk: int
    owner: str
    terms: str
    state: str
    case: str


@dataclass(frozen=True, slots=True)
class Ordered:
    """One line of an open order: boxes without a date, and how many of all that are still to
    come only replace what was used."""

    order: str
    state: str
    undated: int
    to_come: int
    replacing: int


@dataclass(frozen=True, slots=True)
class HouseStock:
    """What the house's books say beside the scenario; every mapping is by REF."""

    suppliers: Mapping[str, SupplierTerms] = field(default_factory=dict)
    superseded: Mapping[str, str] = field(default_factory=dict)
    uses: Mapping[str, tuple[Use, ...]] = field(default_factory=dict)
    ordered: Mapping[str, tuple[Ordered, ...]] = field(default_factory=dict)
    par: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Want:
    """One case's part of a gap.  Moments are local; `order_by` None: an order placed now comes
    too late for it, or nobody knows how long one takes."""

    case: str
    need: Need
    number: int
    needed_by: datetime
    order_by: datetime | None
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AskLine:
    """What pressing the button asks a supplier for: so many, as whose, on what terms."""

    owner: str
    terms: str
    quantity: int


@dataclass(frozen=True, slots=True)
class ToOrder:
    """One item of today's list, with every figure that the number rests on.

    One box can close a case's gap, stand in for a used one and bring the shelf to its par level
    all at once, so the largest of the three counts, never their sum.  What is on order without a
    date is taken off the cases' figure, since it may still come in time; what coverage counts as
    coming in time never was in it.

    `too_late`: wants that an order placed now cannot reach.  `replacing`: how many of the uses a
    box is to be sent for.  `usable`: boxes here, on no hold, and in date still when an order placed
    now would be here.  `free_on_order`: on order, counted on by no case, in place of no used box.
    """

    ref: str
    words: str
    supplier: SupplierTerms | None
    superseded_by: str
    lead_days: int | None
    wants: tuple[Want, ...]
    too_late: tuple[Want, ...]
    uses: tuple[Use, ...]
    replacing: int
    ordered: tuple[Ordered, ...]
    par: int | None
    usable: int
    awaited: int
    undated: int
    free_on_order: int
    for_cases: int
    for_uses: int
    for_par: int
    lines: tuple[AskLine, ...]

    @property
    def boxes(self) -> int:
        """How many boxes to ask for; what is only billed brings none."""
        return max(self.for_cases, self.for_uses, self.for_par)

    @property
    def short_for_cases(self) -> int:
        return sum(want.number for want in self.wants)

    @property
    def order_by(self) -> datetime | None:
        return min((want.order_by for want in self.wants if want.order_by), default=None)

    @property
    def planned(self) -> bool:
        return any(want.need is Need.PLANNED for want in (*self.wants, *self.too_late))

    @property
    def to_bill_only(self) -> int:
        return sum(line.quantity for line in self.lines) - self.boxes
