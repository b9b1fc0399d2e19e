"""Which tray first: the order of work at the benches that costs the fewest cases their cover.

Everything in opening minutes from now, on values.  A tray comes to the benches at `arrives`, takes
`bench` minutes at one of them, then waits for a steriliser, which takes up to `places` packs at
once for `cycle` minutes; `after` more minutes pass until it is released.  It is late by what it is
through after `due`.

One bench, everything there: earliest due date first makes the largest lateness least (Jackson, J.
R., Scheduling a production line to minimize maximum tardiness, Research Report 43, Management
Sciences Research Project, UCLA, 1955), and setting aside the longest job whenever one would be late
makes the fewest late (Moore, J. M., An n job, one machine sequencing algorithm for minimizing the
number of late jobs, Management Science 15, 1968).  With arrivals, several benches and loads neither
is exact: both orders are simulated, the better one is taken and improved by moving one tray at a
time to another place as long as that helps.  Compared in the tests with every order there is.

A proposal: the person at the bench decides.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

FAR = 1 << 40
"""Due when no case waits for it."""


@dataclass(frozen=True, slots=True)
class Work:
    """One tray on its way through.  `bench` 0: it is packed already.  `due` FAR: nobody waits."""

    tray: str
    arrives: int
    bench: int
    due: int
    after: int = 0


@dataclass(frozen=True, slots=True)
class Department:
    """`benches`: how many count and pack.  `sterilisers`: (places, cycle minutes) of each that is
    in use; none: nothing is ever through."""

    benches: int
    sterilisers: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Step:
    """What becomes of one tray in an order of work: minutes from now.  `load`: which load."""

    work: Work
    begins: int
    packed: int
    load: int
    through: int

    @property
    def late(self) -> int:
        """Minutes; negative while there is slack.  -FAR where nobody waits for it."""
        return -FAR if self.work.due >= FAR else self.through - self.work.due


Cost = tuple[int, int, int]
"""How many are late, the largest lateness, and the sum of all: less is better, in this order."""


def cost(steps: Iterable[Step]) -> Cost:
    waited = [step.late for step in steps if step.work.due < FAR]
    late = [minutes for minutes in waited if minutes > 0]
    return len(late), max(waited, default=-FAR), sum(late)


def simulate(order: Sequence[Work], department: Department, *, wait: bool = True) -> list[Step]:
    """The steps of the trays in this order: a bench that is free takes the first that is there.

    `wait`: a steriliser with room waits for the next pack as long as nothing in it becomes late by
    that; else it starts with what is packed.
    """
    begins, packed = _at_benches(order, department.benches)
    loads = _loads(order, packed, department, wait)
    steps = []
    for number, work in enumerate(order):
        load, out = loads.get(number, (0, FAR))
        through = FAR if out >= FAR else out + work.after
        steps.append(Step(work, begins[number], packed[number], load, through))
    return steps


def _at_benches(order: Sequence[Work], benches: int) -> tuple[list[int], list[int]]:
    begins, packed = [0] * len(order), [0] * len(order)
    free = [0] * max(1, benches)
    left = []
    for number, work in enumerate(order):
        if work.bench:
            left.append(number)
        else:
            begins[number] = packed[number] = work.arrives
    while left:
        at = heapq.heappop(free)
        there = [number for number in left if order[number].arrives <= at]
        if there:
            chosen = there[0]
        else:
            chosen = min(left, key=lambda number: (order[number].arrives, left.index(number)))
        left.remove(chosen)
        begins[chosen] = max(at, order[chosen].arrives)
        packed[chosen] = begins[chosen] + order[chosen].bench
        heapq.heappush(free, packed[chosen])
    return begins, packed


def _loads(
    order: Sequence[Work], packed: Sequence[int], department: Department, wait: bool
) -> dict[int, tuple[int, int]]:
    """Place in the order → (load, when it is out).  Packs go in by due, those there first."""
    out: dict[int, tuple[int, int]] = {}
    free = [(0, number) for number in range(len(department.sterilisers))]
    waiting = sorted(range(len(order)), key=lambda number: (packed[number], number))
    load = 0
    while waiting and free:
        at, machine = heapq.heappop(free)
        places, cycle = department.sterilisers[machine]
        start = max(at, packed[waiting[0]])
        inside = _inside(order, packed, waiting, start, places)
        while wait and len(inside) < places and len(inside) < len(waiting):
            later = min(packed[number] for number in waiting if number not in inside)
            latest = min(order[number].due - order[number].after - cycle for number in inside)
            # Nothing in it would become late by waiting, nor what is late already any later.
            if later > latest:
                break
            start = max(start, later)
            inside = _inside(order, packed, waiting, start, places)
        load += 1
        for number in inside:
            out[number] = (load, start + cycle)
            waiting.remove(number)
        heapq.heappush(free, (start + cycle, machine))
    return out


def _inside(
    order: Sequence[Work], packed: Sequence[int], waiting: Sequence[int], start: int, places: int
) -> list[int]:
    there = [number for number in waiting if packed[number] <= start]
    return sorted(there, key=lambda number: (order[number].due - order[number].after, number))[
        :places
    ]


def by_due(work: Iterable[Work]) -> list[Work]:
    """Earliest due date first, as it is at the bench: less what comes after it."""
    return sorted(work, key=lambda one: (one.due - one.after, one.tray))


def fewest_late(work: Iterable[Work], tail: int) -> list[Work]:
    """By due; whenever one would be late, the longest so far goes to the end (Moore).

    `tail`: minutes from the bench to the release that all of them have.
    """
    kept: list[Work] = []
    aside: list[Work] = []
    minutes = 0
    for one in by_due(work):
        kept.append(one)
        minutes += one.bench
        if minutes + tail + one.after > one.due:
            longest = max(kept, key=lambda each: (each.bench, each.due))
            kept.remove(longest)
            aside.append(longest)
            minutes -= longest.bench
    return kept + by_due(aside)


def propose(work: Sequence[Work], department: Department) -> list[Step]:
    """The order of work, the first tray first, with what becomes of each."""
    tail = min((cycle for _, cycle in department.sterilisers), default=0)
    best: list[Step] = []
    least: Cost | None = None
    for order in (by_due(work), fewest_late(work, tail)):
        for wait in (True, False):
            steps, found = _improved(order, department, wait)
            if least is None or found < least:
                best, least = steps, found
    return best


def _improved(order: list[Work], department: Department, wait: bool) -> tuple[list[Step], Cost]:
    """Move one tray at a time to the place where that helps most, until nothing helps."""
    steps = simulate(order, department, wait=wait)
    least = cost(steps)
    better = True
    while better:
        better = False
        for here in range(len(order)):
            for there in range(len(order)):
                if here == there:
                    continue
                other = order[:here] + order[here + 1 :]
                other.insert(there, order[here])
                tried = simulate(other, department, wait=wait)
                found = cost(tried)
                if found < least:
                    order, steps, least, better = other, tried, found, True
                    break
            if better:
                break
    return steps, least
