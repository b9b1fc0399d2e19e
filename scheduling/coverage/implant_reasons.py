"""Why an implant line is not held: box by box, as data."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from datetime import date
from functools import cached_property
from typing import NamedTuple

from scheduling.coverage.clock import Clock, Minute, minute
from scheduling.coverage.implant_claims import CaseItem, use_by
from scheduling.coverage.report import Reason, ReasonValue
from scheduling.coverage.sharing import Leaning
from scheduling.coverage.values import Implant, Unit


class _Against(NamedTuple):
    """Why boxes do not serve: what can be chased or lifted; promised to these cases; past help."""

    chased: list[Reason]
    promised: list[tuple[str, Reason]]
    out_of_date: list[Reason]


class ImplantReasons:
    """Explains the lines of one catalogue implant, after all its claims are decided."""

    def __init__(
        self,
        clock: Clock,
        implant: Implant,
        units: Sequence[Unit],
        lines: Sequence[CaseItem],
    ) -> None:
        self._clock = clock
        self._implant = implant
        self._units = units
        self._lines = lines
        self._known: dict[tuple[date, Minute], _Against] = {}

    @cached_property
    def _any_awaited(self) -> bool:
        return any(unit.arrives is not None for unit in self._units)

    @cached_property
    def _by_code(self) -> dict[str, Unit]:
        return {unit.code: unit for unit in self._units}

    @cached_property
    def _promised(self) -> dict[str, tuple[str, Reason]]:
        """By unit the case that it serves, and the reason that it is for all others."""
        return {
            code: (
                line.case.ref,
                Reason("promised", {"unit": code, "case": line.case.ref, "need": str(line.need)}),
            )
            for line in self._lines
            for code in line.held + line.on_order
        }

    def of(self, line: CaseItem, leanings: Sequence[Leaning]) -> tuple[Reason, ...]:
        """Reasons in the order in which a person can act on them; none for a held line."""
        reasons = [self._on_order(code) for code in line.on_order]
        reasons += [_leaning(leaning) for leaning in leanings]
        if line.short > len(leanings):
            reasons += self._short(line)
        return tuple(reasons)

    def _on_order(self, code: str) -> Reason:
        return Reason(
            "on order", {"unit": code, "arrives": self._clock.local(self._by_code[code].arrives)}
        )

    def _short(self, line: CaseItem) -> list[Reason]:
        if not self._units:
            return [Reason("none in the house", {"item": self._implant.ref})]
        ref, times = line.case.ref, self._clock.times(line.case)
        against = self._against(times.last_day, times.needed_by)
        # What can be chased first, then what can be asked for, last what cannot be helped.
        reasons = [
            *against.chased,
            *[reason for case, reason in against.promised if case != ref],
            *against.out_of_date,
        ]
        if line.rivals:
            reasons.append(
                Reason(
                    "more wanted than there are",
                    {
                        "cases": tuple(sorted({ref, *line.rivals})),
                        "wanted": len(line.rivals) + line.short,
                        "boxes": len(line.rivals),
                    },
                )
            )
        return reasons

    def _against(self, day: date, needed_by: Minute) -> _Against:
        """Box by box what stands against it for a case that ends on `day`."""
        key = day, needed_by if self._any_awaited else 0
        if key not in self._known:
            chased: dict[str, list[Reason]] = {code: [] for code in _CHASED}
            found = self._known[key] = _Against([], [], [])
            promised = self._promised
            # In shelf order those in date are the last.
            first_in_date = bisect_left(self._units, day, key=use_by)
            for place, unit in enumerate(self._units):
                if unit.hold or unit.arrives is not None:
                    reason = self._to_chase(unit, needed_by)
                    if reason is not None and (unit.hold or place >= first_in_date):
                        chased[reason.code].append(reason)
                        continue
                if place < first_in_date:
                    values = {"unit": unit.code, "expiry": unit.expiry, "case_ends": day}
                    found.out_of_date.append(Reason("out of date", values))
                elif unit.code in promised:
                    found.promised.append(promised[unit.code])
            for code in _CHASED:
                found.chased.extend(chased[code])
        return self._known[key]

    def _to_chase(self, unit: Unit, needed_by: Minute) -> Reason | None:
        """Why a box that is on hold or awaited is not there in time; None where it is."""
        if unit.hold:
            return Reason("on hold", {"unit": unit.code, "hold": unit.hold})
        assert unit.arrives is not None
        arrives = minute(unit.arrives)
        values = {"unit": unit.code, "arrives": self._clock.local(unit.arrives)}
        if arrives < self._clock.now:
            return Reason("overdue", values)
        if arrives > needed_by:
            return Reason("arrives late", {**values, "minutes_late": arrives - needed_by})
        return None


def _leaning(leaning: Leaning) -> Reason:
    values: dict[str, ReasonValue] = {"unit": leaning.unit, "case": leaning.owner}
    if leaning.others:
        values["others"] = leaning.others
    return Reason("use replaced" if leaning.replaced else "shared", values)


_CHASED = ("overdue", "arrives late", "on hold")
