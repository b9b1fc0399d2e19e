"""The lists of a day as a team agreed them: all moves as one change, everybody told once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from scheduling.models import Case, Lapse
from scheduling.operations.cases import Move, move_cases
from scheduling.operations.decisions import note_lapses
from scheduling.operations.notices import concerned, tell_people
from scheduling.operations.reservations import Freed
from scheduling.queries import coverage_now


@dataclass(frozen=True, slots=True)
class Agreed:
    """What came of it: promises that ended, confirmations that lapsed, how many were told."""

    freed: Freed
    lapses: tuple[Lapse, ...]
    told: int


@transaction.atomic
def agree_lists(*, moves: Sequence[Move], by: Person, now: datetime) -> Agreed:
    """Move the cases; record the confirmations that lapse with it; tell the surgeons of the moved
    cases and whoever is on them, each person once.

    All of it or nothing; refused as `move_cases` is.
    """
    before = {move.case.pk: _hours(move.case) for move in moves}
    freed = move_cases(moves=moves, by=by, now=now)
    coverage = coverage_now(by.site)
    lapses = note_lapses(site=by.site, coverage=coverage, now=now, quiet=before)
    lapsed = {lapse.decision.case_id for lapse in lapses}
    said: dict[int, list[tuple[Case, str]]] = defaultdict(list)
    moved = Case.objects.filter(pk__in=before).select_related("site", "theatre", "surgeon")
    for case in moved.order_by("start", "ref"):
        text = f"{case.ref} starts {_hours(case)} now; it was {before[case.pk]}."
        if case.pk in lapsed:
            text += " Its confirmation lapsed."
        for key in concerned(case, but=by):
            said[key].append((case, text))
    tell_people(said, now=now)
    return Agreed(freed, lapses, len(said))


def _hours(case: Case) -> str:
    local = case.site.local(case.start)
    return f"{local:%H:%M} in {case.theatre.code if case.theatre else 'no theatre'}"
