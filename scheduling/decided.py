"""Reads about decisions: where each case stands with its surgeon, and who is on it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User

from scheduling.confirming import Basis, basis_kept, basis_of, differs, what_changed
from scheduling.models import Case, CaseDecision, Decision, LastLook, OnIt
from scheduling.operations.notices import name_of
from scheduling.queries import Coverage


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a case stands.  `word`: "confirmed", "lapsed", "postponed" or "to be confirmed".

    `because`: what has changed since it was confirmed.  `at` is local, None without a decision.
    """

    word: str
    because: tuple[str, ...] = ()
    by: str = ""
    at: datetime | None = None
    reason: str = ""
    accepted: tuple[tuple[str, str], ...] = ()


OPEN = Standing("to be confirmed")


def basis_now(coverage: Coverage, case: Case, plan: int) -> Basis | None:
    """What people see of the case now; None where coverage knows no such case."""
    if case.ref not in coverage.scenario.cases:
        return None
    return basis_of(coverage.scenario, coverage.report, case.ref, plan)


def standings(cases: Collection[Case], now: dict[int, Basis]) -> dict[int, Standing]:
    """By case; those without a decision are left out.  One query.

    What lapsed is worked out from what is recorded now, like every verdict.
    """
    newest: dict[int, CaseDecision] = {}
    decisions = CaseDecision.objects.filter(case__in=cases).select_related("by", "case__site")
    for one in decisions.select_related("lapse").order_by("pk"):
        newest[one.case_id] = one
    return {key: _standing(one, now.get(key)) for key, one in newest.items()}


def _standing(decision: CaseDecision, now: Basis | None) -> Standing:
    because: tuple[str, ...] = ()
    if decision.decision == Decision.CONFIRMED:
        lapse = getattr(decision, "lapse", None)
        # Once lapsed, lapsed: that it would hold again is for the surgeon to say.
        because = tuple(lapse.because) if lapse else ()
        if not because and now is not None:
            because = what_changed(basis_kept(decision.rests_on), now)
    return Standing(
        word="lapsed" if because else decision.decision,
        because=because,
        by=name_of(decision.by),
        at=decision.case.site.local(decision.at),
        reason=decision.reason,
        accepted=tuple((gap, reason) for gap, reason in decision.accepted),
    )


def people_on(cases: Collection[Case]) -> dict[int, list[User]]:
    """Who is on each case, in the order in which they took it on.  One query."""
    found: dict[int, list[User]] = defaultdict(list)
    for one in OnIt.objects.filter(case__in=cases, ended_at=None).select_related("by"):
        found[one.case_id].append(one.by)
    return found


def changed_since(looks: dict[int, Basis], now: dict[int, Basis]) -> frozenset[int]:
    """The cases that look otherwise than when the person last opened them."""
    return frozenset(key for key, saw in looks.items() if key in now and differs(saw, now[key]))


def last_looks(user_pk: int, cases: Collection[Case]) -> dict[int, Basis]:
    """What the person saw of each case that they ever opened.  One query."""
    looks = LastLook.objects.filter(by=user_pk, case__in=cases)
    return {key: basis_kept(saw) for key, saw in looks.values_list("case_id", "saw")}
