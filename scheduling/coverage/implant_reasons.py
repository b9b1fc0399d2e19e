"""Why an implant line is not held: box by box, as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

from scheduling.coverage.clock import CaseTimes, Clock, minute
from scheduling.coverage.implant_claims import CaseItem, Eligibility
from scheduling.coverage.report import Reason
from scheduling.coverage.sharing import Leaning
from scheduling.coverage.values import Implant, Unit


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
        self._promised: dict[str, Reason] = {}

    @cached_property
    def _by_code(self) -> dict[str, Unit]:
        return {unit.code: unit for unit in self._units}

    @cached_property
    def _server_of(self) -> dict[str, CaseItem]:
        return {code: line for line in self._lines for code in (*line.held, *line.on_order)}

    def of(self, line: CaseItem, leanings: Sequence[Leaning]) -> tuple[Reason, ...]:
        """Reasons in the order in which a person can act on them; none for a held line."""
        reasons = [self._on_order(code) for code in line.on_order]
        reasons += [
            Reason(
                "use replaced" if leaning.replaced else "shared",
                {"unit": leaning.unit, "case": leaning.owner},
            )
            for leaning in leanings
        ]
        if line.short > len(leanings):
            reasons += self._short(line)
        return tuple(reasons)

    def _on_order(self, code: str) -> Reason:
        return Reason(
            "on order", {"unit": code, "arrives": self._clock.local(self._by_code[code].arrives)}
        )

    def _short(self, line: CaseItem) -> Iterator[Reason]:
        if not self._units:
            yield Reason("none in the house", {"item": self._implant.ref})
            return
        found: dict[str, list[Reason]] = {code: [] for code in _ORDER}
        times = self._clock.times(line.case)
        for unit in self._units:
            reason = self._unit(unit, line.case.ref, times)
            if reason is not None:
                found[reason.code].append(reason)
        for code in _ORDER:
            yield from found[code]
        if line.rivals:
            yield Reason(
                "more wanted than there are",
                {
                    "cases": tuple(sorted({line.case.ref, *line.rivals})),
                    "wanted": len(line.rivals) + line.short,
                    "boxes": len(line.rivals),
                },
            )

    def _unit(self, unit: Unit, case: str, times: CaseTimes) -> Reason | None:
        """Why this box does not serve; None where it serves this very case."""
        clock, day, needed_by = self._clock, times.last_day, times.needed_by
        if unit.hold:
            return Reason("on hold", {"unit": unit.code, "hold": unit.hold})
        if not Eligibility.in_date(unit, day):
            return Reason(
                "out of date", {"unit": unit.code, "expiry": unit.expiry, "case_ends": day}
            )
        if unit.arrives is not None:
            arrives = minute(unit.arrives)
            values = {"unit": unit.code, "arrives": clock.local(unit.arrives)}
            if arrives < clock.now:
                return Reason("overdue", values)
            if arrives > needed_by:
                return Reason("arrives late", {**values, "minutes_late": arrives - needed_by})
        server = self._server_of.get(unit.code)
        if server is None or server.case.ref == case:
            return None
        if unit.code not in self._promised:
            self._promised[unit.code] = Reason(
                "promised", {"unit": unit.code, "case": server.case.ref, "need": str(server.need)}
            )
        return self._promised[unit.code]


_ORDER = ("overdue", "arrives late", "on hold", "promised", "out of date")
"""What can be chased first, then what can be lifted or asked for, last what cannot be helped."""
