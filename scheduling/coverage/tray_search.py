"""Room for a case by moving one other: quick, and no proof where it fails."""

from __future__ import annotations

from collections.abc import Container, Sequence

from scheduling.coverage.tray_assignment import Assignment, Choice
from scheduling.coverage.tray_group import Index

MOST_MOVES = 12
"""How many moves are tried: beyond, the programme of the whole group answers sooner."""


def fits_with_one_move(
    assignment: Assignment, i: Index, choices: Sequence[Choice], fixed: Container[Index]
) -> bool:
    """Give case `i`, which has no choice, one of these and one other case another of its own.

    Where that is not found, nothing changes.  Nothing is taken from the cases in `fixed`.
    """
    moves = 0
    for choice in choices:
        if assignment.give(i, choice):
            return True
        for other in sorted(assignment.blocking):
            if other == i or other in fixed:
                continue
            moves += 1
            if moves > MOST_MOVES:
                return False
            former = assignment.take(other)
            if assignment.give(i, choice):
                if any(assignment.give(other, option) for option in assignment.options(other)):
                    return True
                assignment.take(i)
            assignment.give(other, former)
    return False
