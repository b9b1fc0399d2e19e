"""The engine's input: one site at one moment, as frozen values.

Times are aware datetimes in UTC; opening hours and the order cut-off are local to the site and
kept as minutes after local midnight.  Durations name their unit.  What a value means is said in
the format's description; what is not stated is None or absent, never a default that flatters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Literal

from deploy.kit.attributes import Value


class Need(StrEnum):
    """How badly an item is wanted; the order is the order in which implants are claimed."""

    PLANNED = "planned"
    CONTINGENCY = "contingency"
    SPARE = "spare"


class Priority(StrEnum):
    """The NCEPOD classes of intervention, most urgent first."""

    IMMEDIATE = "immediate"
    URGENT = "urgent"
    EXPEDITED = "expedited"
    ELECTIVE = "elective"


# -- the site ---------------------------------------------------------------------------------


DEPARTMENT_STAGES = ("cleaning", "inspection and assembly", "sterilising")
"""The stages of reprocessing that may be full, in their order."""


@dataclass(frozen=True, slots=True)
class DepartmentStage:
    """How many trays a stage of reprocessing takes at once, and for how many minutes.

    `out_until`: a moment for each of these places that is out of use, when it is back.
    """

    name: str
    places: int
    minutes: int
    out_until: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True)
class Site:
    """The house's clock, hours and intervals.

    `opening` maps a weekday (Monday 0) to (opens, closes) in minutes after local midnight;
    a weekday left out is closed; 1440 is midnight at the end of the day.  `department`: the
    stages of reprocessing in order, empty where the house states no capacity.  `halted_until`:
    from `now` until then sterile services stands still, as if it were closed.
    """

    name: str
    timezone: str
    now: datetime
    needed_before_minutes: int = 60
    out_of_theatre_minutes: int = 15
    shelf_return_minutes: int = 60
    loan_check_in_minutes: int = 120
    order_cut_off_minute: int = 16 * 60
    delivery_minute: int = 12 * 60
    closed_dates: frozenset[date] = frozenset()
    opening: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    department: tuple[DepartmentStage, ...] = ()
    halted_until: datetime | None = None


# -- the catalogue ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Instrument:
    ref: str
    role: str
    name: str = ""
    attributes: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Supplier:
    """Who takes orders on terms of its own.  `order_cut_off_minute` None: as the house's.
    `closed_dates`: takes no order and delivers nothing, on top of the house's own."""

    code: str
    order_cut_off_minute: int | None = None
    closed_dates: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True)
class Implant:
    """`lead_days`: working days from order to delivery, None where it cannot be ordered.

    `replaced_on_use`: the supplier replaces every use without a further order.  `supplier` None:
    orders go by the house's cut-off and closed dates alone.
    """

    ref: str
    role: str
    name: str = ""
    attributes: Mapping[str, Value] = field(default_factory=dict)
    gtin: str = ""
    lead_days: int | None = None
    replaced_on_use: bool = False
    supplier: Supplier | None = None


@dataclass(frozen=True, slots=True)
class Configuration:
    """What a kind of tray holds; kind `supplementary` is a pack of a single instrument."""

    code: str
    kind: str
    contents: Mapping[str, int]
    turnaround_minutes: int
    fast_track_minutes: int | None = None
    name: str = ""


SUPPLEMENTARY = "supplementary"


# -- what is in the house ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tray:
    """A physical set.  On site (`ready`), awaited (`arrives`) or `withdrawn`: one of the three."""

    code: str
    configuration: str
    ready: datetime | None = None
    arrives: datetime | None = None
    withdrawn: bool = False
    sterile_until: datetime | None = None
    missing: Mapping[str, int] = field(default_factory=dict)
    location: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Unit:
    """One boxed implant.  `expiry` None: it does not expire, said on purpose."""

    code: str
    implant: str
    expiry: date | None
    lot: str = ""
    serial: str = ""
    arrives: datetime | None = None
    location: str = ""
    owner: str = "owned"
    hold: str = ""


# -- the technique ----------------------------------------------------------------------------

Condition = Mapping[str, tuple[Value, ...]]
"""Path → the values of which it must have one; all paths must hold; empty: always."""


@dataclass(frozen=True, slots=True)
class FromPlan:
    """The value at `path`: an attribute of a planned component (`stem.size`) or a fact."""

    path: str


@dataclass(frozen=True, slots=True)
class OneOf:
    """The attribute has one of these values."""

    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Ladder:
    """The rungs from `start` to `end`, then `below` more under and `above` more over.

    Either end may be None (open); `at` in a file is a start and an end that are equal.
    """

    start: Value | FromPlan | None = None
    end: Value | FromPlan | None = None
    below: int = 0
    above: int = 0


Selection = OneOf | FromPlan | Ladder


@dataclass(frozen=True, slots=True)
class Rule:
    role: str
    need: Need
    select: Mapping[str, Selection] = field(default_factory=dict)
    quantity: int = 1
    when: Condition = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SetAsked:
    """A set that the technique asks for; options in order of preference, each a list of codes."""

    purpose: str
    options: tuple[tuple[str, ...], ...]
    when: Condition = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Times:
    """A term of a sum: `factor` × the value at `path`."""

    factor: Value
    path: str


Term = Value | FromPlan | Times


@dataclass(frozen=True, slots=True)
class Check:
    """`equal`: one path on each side.  `at least`: the left sum reaches the right sum."""

    code: str
    kind: Literal["equal", "at least"]
    left: tuple[Term, ...]
    right: tuple[Term, ...]
    when: Condition = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Confirmation:
    code: str
    when: Condition = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Technique:
    code: str
    name: str = ""
    sets: tuple[SetAsked, ...] = ()
    rules: tuple[Rule, ...] = ()
    checks: tuple[Check, ...] = ()
    confirmations: tuple[Confirmation, ...] = ()


# -- the cases --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Component:
    """A planned implant, named by enough attributes to match exactly one catalogue item."""

    attributes: Mapping[str, Value]
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class Case:
    ref: str
    technique: str
    start: datetime
    minutes: int
    priority: Priority = Priority.ELECTIVE
    theatre: str = ""
    surgeon: str = ""
    side: str = ""
    components: Mapping[str, Component] = field(default_factory=dict)
    facts: Mapping[str, Value | bool] = field(default_factory=dict)
    confirmed: frozenset[str] = frozenset()
    reserved_trays: tuple[str, ...] = ()
    reserved_units: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Scenario:
    """One site at one moment.  Every mapping is by code; the order of entries never matters."""

    site: Site
    instruments: Mapping[str, Instrument]
    implants: Mapping[str, Implant]
    configurations: Mapping[str, Configuration]
    trays: Mapping[str, Tray]
    shelf: Mapping[str, Unit]
    techniques: Mapping[str, Technique]
    cases: Mapping[str, Case]
