"""Changes that a person can make to a scenario, as values: another order, time, tray, reservation.

Each says what is done; `applied` gives the scenario as it is once that is done in full (a delivery
received, a loan checked in and sterilised), sharing all that stays the same with the one before.
What only has to be *on its way* for now has `meanwhile`: the same change, asked for but not here.
Moments are aware datetimes in UTC.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from scheduling.coverage.values import (
    SUPPLEMENTARY,
    Case,
    Configuration,
    Scenario,
    Tray,
    Unit,
)


@dataclass(frozen=True, slots=True)
class UseOption:
    """A case's set is met by another option: what it has reserved for the set is let go."""

    case: str
    purpose: str
    option: tuple[str, ...]
    released: tuple[str, ...]

    def applied(self, scenario: Scenario) -> Scenario:
        return _with_trays_reserved(scenario, self.case, without=self.released)


@dataclass(frozen=True, slots=True)
class SwapTrays:
    """`case` gets `other_tray` and `other` gets `tray`; both are reserved so."""

    case: str
    tray: str
    other: str
    other_tray: str

    def applied(self, scenario: Scenario) -> Scenario:
        swapped = _with_trays_reserved(
            scenario, self.other, without=(self.other_tray,), more=(self.tray,)
        )
        return _with_trays_reserved(
            swapped, self.case, without=(self.tray,), more=(self.other_tray,)
        )


@dataclass(frozen=True, slots=True)
class ReleaseReservation:
    """A case lets go what it has reserved: trays and packs, or units."""

    case: str
    trays: tuple[str, ...] = ()
    units: tuple[str, ...] = ()

    def applied(self, scenario: Scenario) -> Scenario:
        released = _with_trays_reserved(scenario, self.case, without=self.trays)
        return _with_units_reserved(released, self.case, without=self.units)


@dataclass(frozen=True, slots=True)
class AddPacks:
    """So many supplementary packs more of an instrument, released by `by`.

    Of the house's own configuration for it; where there is none, packs of one that take as long
    to reprocess as the slowest configuration in the house.
    """

    instrument: str
    quantity: int
    by: datetime

    def applied(self, scenario: Scenario) -> Scenario:
        configuration = pack_of(scenario, self.instrument)
        codes = _new_codes(f"{configuration.code}/added", scenario.trays, self.quantity)
        return replace(
            scenario,
            configurations={**scenario.configurations, configuration.code: configuration},
            trays={
                **scenario.trays,
                **{code: Tray(code, configuration.code, ready=self.by) for code in codes},
            },
        )


@dataclass(frozen=True, slots=True)
class FastTrack:
    """One reprocessing of a tray for `case` is fast-tracked: it is ready at `ready`.

    `after`: the case that it serves before; None where it is reprocessed before its first use.
    The scenario has one turnaround a configuration, so after a case the tray goes on under a code
    of its own (`twin`); `whole` says whether the two lives fit into one.
    """

    tray: str
    case: str
    after: str | None
    ready: datetime

    @property
    def twin(self) -> str:
        return self.tray if self.after is None else f"{self.tray} after {self.after}"

    def applied(self, scenario: Scenario) -> Scenario:
        tray = scenario.trays[self.tray]
        ready = replace(tray, code=self.twin, ready=self.ready, sterile_until=None)
        changed = replace(scenario, trays={**scenario.trays, self.twin: ready})
        if self.after is None:
            return changed
        changed = _with_trays_reserved(changed, self.after, more=(self.tray,))
        return _with_trays_reserved(changed, self.case, without=(self.tray,), more=(self.twin,))


@dataclass(frozen=True, slots=True)
class LoanBy:
    """A loan is here by `by`, and ready at `ready`, after check-in and reprocessing.

    `tray`: one that is awaited already; None: one more of `configuration`.
    """

    tray: str | None
    configuration: str
    by: datetime
    ready: datetime
    fast_track: bool = False
    received: bool = True

    def applied(self, scenario: Scenario) -> Scenario:
        if self.tray is not None:
            loan = replace(scenario.trays[self.tray], arrives=None, ready=None, sterile_until=None)
        else:
            (code,) = _new_codes(f"{self.configuration}/loan", scenario.trays, 1)
            loan = Tray(code, self.configuration)
        loan = replace(loan, ready=self.ready) if self.received else replace(loan, arrives=self.by)
        return replace(scenario, trays={**scenario.trays, loan.code: loan})

    def meanwhile(self) -> LoanBy:
        return replace(self, received=False)


@dataclass(frozen=True, slots=True)
class OrderUnits:
    """So many boxes of an item, ordered by `by`, here at `arrives`, reserved for `case` on receipt.

    They are taken to be in date: nobody orders what has expired.  Reserved, so that a box is never
    counted for a case that needs it before it can be here.
    """

    item: str
    quantity: int
    by: datetime
    arrives: datetime
    case: str
    received: bool = True

    def applied(self, scenario: Scenario) -> Scenario:
        codes = _new_codes(f"{self.item}/ordered", scenario.shelf, self.quantity)
        arrives = None if self.received else self.arrives
        boxes = {code: Unit(code, self.item, expiry=None, arrives=arrives) for code in codes}
        return _with_units_reserved(
            replace(scenario, shelf={**scenario.shelf, **boxes}), self.case, more=codes
        )

    def meanwhile(self) -> OrderUnits:
        return replace(self, received=False)


@dataclass(frozen=True, slots=True)
class UnitBy:
    """A box that is overdue or would come too late is here by `by`, and reserved for `case`."""

    unit: str
    item: str
    case: str
    by: datetime
    received: bool = True

    def applied(self, scenario: Scenario) -> Scenario:
        arrives = None if self.received else self.by
        box = replace(scenario.shelf[self.unit], arrives=arrives)
        changed = replace(scenario, shelf={**scenario.shelf, self.unit: box})
        return _with_units_reserved(changed, self.case, more=(self.unit,))

    def meanwhile(self) -> UnitBy:
        return replace(self, received=False)


@dataclass(frozen=True, slots=True)
class MoveCase:
    """A case starts at another time; how long it takes stays."""

    case: str
    start: datetime

    def applied(self, scenario: Scenario) -> Scenario:
        return _with_case(scenario, replace(scenario.cases[self.case], start=self.start))


@dataclass(frozen=True, slots=True)
class Together:
    """Several changes, all of them."""

    steps: tuple[Step, ...]

    def applied(self, scenario: Scenario) -> Scenario:
        for step in self.steps:
            scenario = step.applied(scenario)
        return scenario

    def meanwhile(self) -> Together:
        return Together(
            tuple(step.meanwhile() if isinstance(step, Awaited) else step for step in self.steps)
        )


Awaited = LoanBy | OrderUnits | UnitBy
"""Changes that are asked for first, and done when something is received."""

Step = UseOption | SwapTrays | ReleaseReservation | AddPacks | FastTrack | Awaited | MoveCase

Change = Step | Together


def pack_of(scenario: Scenario, instrument: str) -> Configuration:
    """The configuration of supplementary packs of an instrument; an assumed one if there is none.

    Several: the first by code.
    """
    for code in sorted(scenario.configurations):
        configuration = scenario.configurations[code]
        if configuration.kind == SUPPLEMENTARY and instrument in configuration.contents:
            return configuration
    (code,) = _new_codes(f"{instrument}/pack", scenario.configurations, 1)
    slowest = max((c.turnaround_minutes for c in scenario.configurations.values()), default=1)
    return Configuration(code, SUPPLEMENTARY, {instrument: 1}, turnaround_minutes=slowest)


# -- parts of a scenario replaced ----------------------------------------------------------------


def _with_case(scenario: Scenario, case: Case) -> Scenario:
    return replace(scenario, cases={**scenario.cases, case.ref: case})


def _with_trays_reserved(
    scenario: Scenario, ref: str, *, without: Collection[str] = (), more: Iterable[str] = ()
) -> Scenario:
    case = scenario.cases[ref]
    reserved = _reserved(case.reserved_trays, without, more)
    return _with_case(scenario, replace(case, reserved_trays=reserved))


def _with_units_reserved(
    scenario: Scenario, ref: str, *, without: Collection[str] = (), more: Iterable[str] = ()
) -> Scenario:
    case = scenario.cases[ref]
    reserved = _reserved(case.reserved_units, without, more)
    return _with_case(scenario, replace(case, reserved_units=reserved))


def _reserved(
    before: tuple[str, ...], without: Collection[str], more: Iterable[str]
) -> tuple[str, ...]:
    kept = tuple(code for code in before if code not in without)
    return (*kept, *(code for code in more if code not in kept))


def _new_codes(stem: str, taken: Collection[str], count: int) -> tuple[str, ...]:
    """Codes that nothing has yet; the same from run to run."""
    while any(code.startswith(stem) for code in taken):
        stem += "'"
    return tuple(f"{stem}-{n + 1}" for n in range(count))
