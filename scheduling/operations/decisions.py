"""Confirm a case or postpone it, and see when a confirmation no longer holds."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person, Site
from scheduling.confirming import Basis, basis_kept, basis_of, is_about_cover, what_changed
from scheduling.errors import NotUsable, Refused
from scheduling.models import Case, CaseDecision, CaseStatus, Decision, Lapse, PlanVersion
from scheduling.operations.locks import locked_open_case
from scheduling.operations.notices import tell
from scheduling.queries import Coverage, coverage_now

LONGEST_REASON = 500


@transaction.atomic
def confirm_case(
    *, case: Case, saw: Basis, reasons: Mapping[str, str], by: Person, now: datetime
) -> CaseDecision:
    """The surgeon goes ahead with the plan in force, on what they saw.

    `reasons`: gap → why it is accepted; every gap needs one.  NotUsable (decision_invalid) with
    all faults; Refused (case_is_over, plan_missing, changed_while_deciding).
    """
    case = locked_open_case(case)
    plan = case.plans.order_by("-number").first()
    if plan is None:
        raise Refused("plan_missing", case=case.ref)
    _check_seen(case, saw, plan)
    accepted = [[gap, reasons.get(gap, "").strip()] for gap in saw.gaps]
    faults = [f"no reason for “{gap}”" for gap, reason in accepted if not reason]
    faults += [
        f"a reason has {LONGEST_REASON} letters at most"
        for _, reason in accepted
        if len(reason) > LONGEST_REASON
    ]
    if faults:
        raise NotUsable("decision_invalid", faults)
    return CaseDecision.objects.create(
        case=case,
        plan=plan,
        decision=Decision.CONFIRMED,
        verdict=saw.verdict,
        rests_on=saw.kept(),
        accepted=accepted,
        at=now,
        by=by.user,
    )


@transaction.atomic
def postpone_case(
    *, case: Case, saw: Basis, reason: str, by: Person, now: datetime
) -> CaseDecision:
    """The surgeon does not go ahead as booked, and says why; moving it is for who books.

    Whoever is on the case is told.  NotUsable (decision_invalid); Refused (case_is_over,
    changed_while_deciding).
    """
    case = locked_open_case(case)
    plan = case.plans.order_by("-number").first()
    _check_seen(case, saw, plan)
    reason = reason.strip()
    if not 1 <= len(reason) <= LONGEST_REASON:
        raise NotUsable("decision_invalid", [f"a reason of 1 to {LONGEST_REASON} letters"])
    made = CaseDecision.objects.create(
        case=case,
        plan=plan,
        decision=Decision.POSTPONED,
        verdict=saw.verdict,
        rests_on=saw.kept(),
        reason=reason,
        at=now,
        by=by.user,
    )
    tell(case=case, text=f"{case.ref} is postponed by the surgeon: {reason}", now=now, but=by)
    return made


def _check_seen(case: Case, saw: Basis, plan: PlanVersion | None) -> None:
    """Nobody decides on what is no longer so."""
    coverage = coverage_now(case.site)
    if basis_of(coverage.scenario, coverage.report, case.ref, plan.number if plan else 0) != saw:
        raise Refused("changed_while_deciding", case=case.ref)


@transaction.atomic
def note_lapses(
    *,
    site: Site,
    coverage: Coverage,
    now: datetime,
    quiet: Collection[int] = (),
    changed: Case | None = None,
    by: Person | None = None,
) -> tuple[Lapse, ...]:
    """Record every confirmation that no longer holds, and tell the surgeon and whoever is on it.

    Each lapses once.  `quiet`: cases of which the caller tells people itself.  `changed`: the case
    that `by` has just changed, of which nobody has to tell them.  4 queries, and a few for each
    that lapses.
    """
    newest: dict[int, CaseDecision] = {}
    standing = CaseDecision.objects.select_for_update(of=("self",)).filter(
        case__site=site, case__status=CaseStatus.BOOKED
    )
    for one in standing.select_related("case__site", "case__surgeon").order_by("pk"):
        newest[one.case_id] = one
    lapsed = set(
        Lapse.objects.filter(decision__in=[one.pk for one in newest.values()]).values_list(
            "decision_id", flat=True
        )
    )
    plans = plan_numbers(site)
    found = []
    for one in newest.values():
        if one.decision != Decision.CONFIRMED or one.pk in lapsed:
            continue
        if one.case.ref not in coverage.scenario.cases:
            continue
        now_so = basis_of(
            coverage.scenario, coverage.report, one.case.ref, plans.get(one.case_id, 0)
        )
        rested = basis_kept(one.rests_on)
        if because := what_changed(rested, now_so):
            found.append(Lapse.objects.create(decision=one, because=list(because), at=now))
            words = " ".join(because)
            if one.case_id not in quiet:
                said = f"The confirmation of {one.case.ref} lapsed. {words}"
                about_cover = is_about_cover(rested, now_so)
                but = by if one.case == changed else None
                tell(case=one.case, text=said, now=now, but=but, about_cover=about_cover)
    return tuple(found)


def plan_numbers(site: Site) -> dict[int, int]:
    """Case → number of the plan in force, of the open cases.  One query."""
    open_cases = PlanVersion.objects.filter(
        case__site=site, case__status__in=[CaseStatus.BOOKED, CaseStatus.STARTED]
    )
    return dict(open_cases.order_by("number").values_list("case_id", "number"))


def lapses_now(
    *, site: Site, changed: Case | None = None, by: Person | None = None
) -> tuple[Lapse, ...]:
    """As `note_lapses`, for the site as it is recorded now: after a change, and by the clock.

    Where nothing was ever confirmed the cover check is spared: one query.
    """
    open_ones = CaseDecision.objects.filter(
        case__site=site, case__status=CaseStatus.BOOKED, lapse=None, decision=Decision.CONFIRMED
    )
    if not open_ones.exists():
        return ()
    coverage = coverage_now(site)
    return note_lapses(
        site=site, coverage=coverage, now=coverage.report.now, changed=changed, by=by
    )
