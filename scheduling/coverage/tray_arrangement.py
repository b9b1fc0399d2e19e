"""The present arrangement of a group: every case's bundle, honouring all that was promised.

It is the proof that all promises can be kept together, and changes when a new one asks for it:
as little as it must (`tray_search`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from functools import cached_property

from scheduling.coverage.report import Status
from scheduling.coverage.tray_assignment import Assignment, Choice
from scheduling.coverage.tray_bounds import Bounds
from scheduling.coverage.tray_bundles import Bundle, Demand
from scheduling.coverage.tray_conflict import Conflict, least_conflict, nearest_first
from scheduling.coverage.tray_group import Group, Index
from scheduling.coverage.tray_model import GaveUp, Model
from scheduling.coverage.tray_search import fits_with_one_move
from scheduling.coverage.tray_shown import Shown

MOST_TRIED = 4
"""Of how many others it is tried whether they conflict with a case, where counting does not say."""


class Arrangement:
    """`demands`: what each case of the group has been promised."""

    def __init__(self, group: Group) -> None:
        self._group = group
        self._assignment = Assignment(group)
        self.demands = self._assignment.demands

    @cached_property
    def _bounds(self) -> Bounds:
        """Only where a claim does not fit at once is there anything to count."""
        return Bounds(self._group, self._assignment)

    # -- questions ----------------------------------------------------------------------------

    def holds(self, i: Index, ref: str, status: Status) -> int:
        """How many of an instrument the case's trays and packs hold: trays whatever the status
        of their set, packs used with `status` or better."""
        facts, bundle = self._group.fleet.facts, self._assignment.choices[i].bundle
        found = 0
        for codes in bundle.trays.values():
            for code in codes:
                found += facts[code].contents.get(ref, 0)
        for code, used in bundle.packs.items():
            if used is Status.HELD or status is Status.CONDITIONAL:
                found += facts[code].contents.get(ref, 0)
        return found

    def always_there(self, i: Index) -> Mapping[str, int]:
        """What case `i` has of each instrument whichever trays its sets are met with."""
        fleet, sets = self._group.fleet, self._group.cases[i].sets
        found = [fleet.least_in(sets[number].options) for number in self.demands[i].sets]
        return found[0] if len(found) == 1 else sum(map(Counter, found), Counter())

    def could_hold(self, i: Index, ref: str, quantity: int) -> bool:
        """Would the fullest trays of the case's sets and every pack hold so many?"""
        fleet = self._group.fleet
        most = sum(fleet.facts[code].contents[ref] for code in fleet.packs_with.get(ref, ()))
        for number in self.demands[i].sets:
            most += max(
                sum(fleet.most_in(configuration, ref) for configuration in option)
                for option in self._group.cases[i].sets[number].options
            )
        return most >= quantity

    # -- promises -----------------------------------------------------------------------------

    def let_in(self, i: Index, demand: Demand) -> bool:
        """Make case `i`'s demand `demand` if all can still be honoured; else change nothing.

        GaveUp where the search does.
        """
        before = self.demands[i]
        self.demands[i] = demand
        found = False
        try:
            found = self._fits(i) or (
                self._bounds.conflict(i) is None
                and self._fits_somehow(i, self._assignment.options(i))
            )
        finally:
            if not found:
                self.demands[i] = before
                self._bounds.forget(i)
        return found

    def _fits(self, i: Index, choices: Sequence[Choice] | None = None) -> bool:
        """Give the case one of these choices, any of its own by default, as things stand."""
        assignment = self._assignment
        if i in self._group.sparing:
            return False  # what it has cannot be taken from it by itself
        former = assignment.take(i)
        if choices is None:
            given = assignment.give_any(i)
        else:
            given = any(assignment.give(i, choice) for choice in choices)
        if not given:
            assignment.give(i, former)
        return given

    def _fits_somehow(self, i: Index, choices: Sequence[Choice]) -> bool:
        """Give the case one of these choices, whoever must be moved for it."""
        assignment, sparing = self._assignment, self._group.sparing
        if i not in sparing:
            former = assignment.take(i)
            if fits_with_one_move(assignment, i, choices, sparing):
                return True
            assignment.give(i, former)
        return Model(assignment, i, choices).solve()

    # -- why not ------------------------------------------------------------------------------

    def conflict(self, i: Index, demand: Demand) -> Conflict | None:
        """Who could not all be served if case `i`'s demand, which is refused, were let in: by the
        counts, or by trying the cases nearest in time; None where neither finds it."""
        before = self.demands[i]
        self.demands[i] = demand
        try:
            return self._bounds.smallest_conflict(i) or self._conflict_by_trying(i)
        finally:
            self.demands[i] = before
            self._bounds.forget(i)

    def _conflict_by_trying(self, i: Index) -> Conflict | None:
        others = [other for other, demand in enumerate(self.demands) if demand != Demand()]
        near = nearest_first(self._group, i, others)[:MOST_TRIED]
        try:
            cases = least_conflict(i, near, lambda some: not self._served(some))
        except GaveUp:
            return None
        if cases is None:
            return None
        options = (option for one in cases for option in self._assignment.options(one))
        pools = {pool for option in options for pool, *_ in option.uses}
        codes = {code for pool in pools for code in pool.codes}
        return Conflict(cases, tuple(sorted(code for code in codes if self._serves(code, cases))))

    def _serves(self, code: str, cases: Sequence[Index]) -> bool:
        """Is the tray ready in time for one of the cases at least?"""
        group = self._group
        return any(group.may_serve(code, one, Status.CONDITIONAL, None) for one in cases)

    def _served(self, cases: Sequence[Index]) -> bool:
        """Could these cases alone all be served?"""
        in_time = sorted(cases)
        alone = Arrangement(self._group.only(in_time))
        return all(alone.let_in(place, self.demands[one]) for place, one in enumerate(in_time))

    # -- the arrangement to show --------------------------------------------------------------

    def preferred(self) -> Sequence[Bundle]:
        """The arrangement to show: in time order each case's most preferred bundle that leaves
        the others theirs.  Where a search gives up, from that case on the present one."""
        assignment = self._assignment
        shown = Shown(self._group, assignment)
        try:
            for i in range(len(self.demands)):
                if not any(
                    self._fits(i, [choice]) or self._fits_somehow(i, [choice])
                    for choice in shown.preferences(i)
                ):
                    raise AssertionError("the present arrangement is no arrangement")
                shown.fix(i)
        except GaveUp:
            pass
        return [assignment.bundle(i) for i in range(len(self.demands))]
