"""The last resort: the arrangement of a whole group as a whole-number programme, solved by HiGHS.

A variable for each choice of each case, one of which must be taken.  For any set of places of a
pool there is a cut: the uses that may come after nothing else must not be more than these places
are, the trays among them and the uses that are made (Hall 1935).  The cuts of each use's own
places are there from the beginning; where a solution breaks another one, that is added.  So what
is found is an arrangement, given tray by tray before it counts, and where nothing is found there
is none.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import accumulate
from math import inf

from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_array

from scheduling.coverage.tray_assignment import Assignment, Choice
from scheduling.coverage.tray_chains import Place, Places
from scheduling.coverage.tray_group import Index
from scheduling.coverage.tray_pools import Pool

NODE_LIMIT = 2_000
"""How many branches the solver may look into."""

ROUNDS = 100
"""How often a solution may be found to break a cut that was not there."""

_OPTIMAL, _INFEASIBLE, _FAILED = 0, 2, 4
"""Of `scipy.optimize.milp`: what it answers where it is neither at an end nor at a limit is 4."""


class GaveUp(Exception):
    """The solver reached its limit: an arrangement is neither found nor excluded."""


Variable = int
Row = dict[Variable, int]


class Model:
    """The choices of all cases of a group that are not fixed, case `asking` with `choices`."""

    def __init__(self, assignment: Assignment, asking: Index, choices: Sequence[Choice]) -> None:
        self._assignment = assignment
        self._cases = [i for i in assignment.movable() if i == asking or assignment.choices[i].uses]
        self._former = [assignment.choices[i] for i in self._cases]
        self._variables: list[tuple[Index, Choice]] = []
        self._uses: dict[Pool, list[tuple[Place, Places, Variable]]] = defaultdict(list)
        self._rows: list[Row] = []
        self._least: list[float] = []
        self._most: list[float] = []
        for i in self._cases:
            one_of: Row = {}
            for choice in choices if i == asking else assignment.options(i):
                for pool, use, follows in choice.uses:
                    self._uses[pool].append((use, follows, len(self._variables)))
                one_of[len(self._variables)] = 1
                self._variables.append((i, choice))
            self._add(one_of, 1, 1)

    def solve(self) -> bool:
        """Give the cases what they have in an arrangement, and say whether there is one; if not,
        they keep what they had.

        GaveUp where the solver does.
        """
        self._take_all()
        found = False
        try:
            for pool, uses in self._uses.items():
                for places in dict.fromkeys(follows for _, follows, _ in uses):
                    self._cut(pool, places)
            for _ in range(ROUNDS):
                chosen = self._solution()
                if chosen is None:
                    return False
                found = self._arranged(chosen)
                if found:
                    return True
            raise GaveUp
        finally:
            if not found:
                for i, choice in zip(self._cases, self._former, strict=True):
                    self._assignment.give(i, choice)

    def _take_all(self) -> None:
        # The last first: an earlier use may be what a later one rests on.
        for i in reversed(self._cases):
            self._assignment.take(i)

    def _arranged(self, chosen: Sequence[Variable]) -> bool:
        """Give the chosen choices; where one cannot be, take all back and add the broken cut."""
        for variable in chosen:
            i, choice = self._variables[variable]
            if not self._assignment.give(i, choice):
                pool, places = self._assignment.contested()
                self._take_all()
                self._cut(pool, places)
                return False
        return True

    # -- the programme ------------------------------------------------------------------------

    def _cut(self, pool: Pool, places: Places) -> None:
        """What may come after these places alone is no more than they are."""
        row: Row = defaultdict(int)
        possible = pool.there
        for use, _, _ in self._uses[pool]:
            possible |= 1 << use
        for use, follows, variable in self._uses[pool]:
            if not follows & possible & ~places:
                row[variable] += 1
            if places >> use & 1:
                row[variable] -= 1
        self._add(row, -inf, (places & pool.there).bit_count())

    def _add(self, row: Row, least: float, most: float) -> None:
        self._rows.append(row)
        self._least.append(least)
        self._most.append(most)

    def _solution(self) -> list[Variable] | None:
        """The variables that are one in a solution, in the order of their cases."""
        number = len(self._variables)
        if not all(self._rows):
            return None  # a case without a choice
        starts = list(accumulate((len(row) for row in self._rows), initial=0))
        columns = [variable for row in self._rows for variable in row]
        entries = [entry for row in self._rows for entry in row.values()]
        matrix = csr_array((entries, columns, starts), shape=(len(self._rows), number))

        def ask(**options: bool) -> OptimizeResult:
            return milp(
                [0] * number,
                integrality=[1] * number,
                bounds=Bounds(0, 1),
                constraints=LinearConstraint(matrix, self._least, self._most),
                options={"node_limit": NODE_LIMIT, **options},
            )

        answer = ask()
        if answer.status == _FAILED:
            # Its presolve stumbles over a few small programmes that it solves without.
            answer = ask(presolve=False)
        if answer.status == _INFEASIBLE:
            return None
        if answer.status != _OPTIMAL:
            raise GaveUp
        return [variable for variable in range(number) if answer.x[variable] > 0.5]
