"""The plan form, what it would do before it is saved, and the versions of a plan."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from deploy.kit.doors import requires
from scheduling.access import case_for, case_to_plan, is_theirs, may_plan
from scheduling.coverage.report import Verdict
from scheduling.coverage.scenario_write import components_json, facts_json
from scheduling.errors import Refused
from scheduling.models import Case, CaseStatus, Technique, Window
from scheduling.operations.decisions import lapses_now
from scheduling.operations.plans import write_plan
from scheduling.operations.windows import keep_window
from scheduling.plan_versions import versions_of
from scheduling.plans.asked import asked_of_plan
from scheduling.plans.form import NOT_CHECKED_HERE
from scheduling.queries import Coverage, coverage_now
from scheduling.web.planning.plan_draft import (
    PlanDraft,
    begun_with,
    draft_of,
    plan_then,
    sent_texts,
    without_leftovers,
)
from scheduling.web.planning.windows import windows_in_force
from scheduling.web.requests import PersonsRequest

PLANNERS = "scheduling.write_own_plan"
OPEN = (CaseStatus.BOOKED, CaseStatus.STARTED)


@requires(PLANNERS)
@require_http_methods(["GET", "HEAD", "POST"])
def plan(request: PersonsRequest, pk: int) -> HttpResponse:
    """GET: the plan in force, to be changed.  POST: show what it would do, or save it."""
    case = case_to_plan(request.person, pk)
    if case.status not in OPEN:
        messages.error(request, f"Case {case.ref} is {case.status}: its plan stays as it is.")
        return redirect("case", pk=pk)
    coverage = coverage_now(case.site)
    draft = _sent(request, case, coverage) if request.method == "POST" else None
    draft = draft or _begun(request, case, coverage)
    if draft is None:
        messages.error(request, "There is no technique yet: set one up first.")
        return redirect("case", pk=pk)
    act = request.POST.get("act") if request.method == "POST" else None
    if act == "save" and not draft.form.faults:
        return _save(request, draft, coverage)
    if act == "keep" and not draft.form.faults and (kept := _keep(request, draft)):
        return redirect(f"{reverse('plan', args=[pk])}?window={kept.pk}")
    return _answer(request, draft, coverage, "plan")


@requires(PLANNERS)
@require_POST
def preview(request: PersonsRequest, pk: int) -> HttpResponse:
    """What the form as it stands would do, as the parts of the page that change.  Saves nothing.

    As many queries as `coverage_now` and a handful.
    """
    case = case_to_plan(request.person, pk)
    coverage = coverage_now(case.site)
    draft = _sent(request, case, coverage) if case.status in OPEN else None
    if draft is None:
        return HttpResponse(status=409)
    return _answer(request, draft, coverage, "_plan_preview")


@requires("scheduling.read_cases", "scheduling.read_own_cases")
@require_safe
def versions(request: PersonsRequest, pk: int) -> HttpResponse:
    case = case_for(request.person, pk)
    page = {
        "case": case,
        "versions": versions_of(case),
        "may_plan": may_plan(request.person, case) and case.status in OPEN,
    }
    return render(request, "scheduling/planning/plan_versions.html", page)


def _begun(request: PersonsRequest, case: Case, coverage: Coverage) -> PlanDraft | None:
    """With the window that was asked for, the plan in force, or the surgeon's first window."""
    techniques = _techniques(case)
    kept = case.plans.select_related("technique", "window").last()
    windows = windows_in_force(case.surgeon) if case.surgeon else ()
    asked = request.GET.get("window", "")
    window = next((one for one in windows if str(one.pk) == asked), None)
    if window is None and kept is None:
        window = next(iter(windows), None)
    begun = window or kept
    technique = begun.technique if begun else next(iter(techniques), None)
    if technique is None:
        return None
    return draft_of(
        case,
        coverage,
        begun_with(kept, window),
        technique=technique,
        techniques=techniques,
        in_force=kept.number if kept else 0,
        window=window or (kept.window if kept else None),
        confirmed=[] if kept is None or window else _confirmed(coverage, case),
    )


def _confirmed(coverage: Coverage, case: Case) -> list[str]:
    """What was confirmed for the plan in force, while nothing is changed."""
    return sorted(coverage.scenario.cases[case.ref].confirmed)


def _sent(request: PersonsRequest, case: Case, coverage: Coverage) -> PlanDraft | None:
    """The form as it was sent; None for a technique that is not the site's."""
    techniques = _techniques(case)
    by_code = {one.code: one for one in techniques}
    technique = by_code.get(request.POST.get("technique", ""))
    if technique is None:
        return None
    given = sent_texts(request.POST)
    if request.POST.get("technique_shown", technique.code) != technique.code:
        roles = asked_of_plan(coverage.scenario.techniques[technique.code]).roles
        given = without_leftovers(given, roles)
    number = request.POST.get("replaces", "")
    windows = windows_in_force(case.surgeon) if case.surgeon else ()
    chosen = request.POST.get("window", "")
    # Only the surgeon confirms: what a colleague sends as confirmed is not heard.
    confirmed = request.POST.getlist("confirm") if is_theirs(request.person, case) else []
    return draft_of(
        case,
        coverage,
        given,
        technique=technique,
        techniques=techniques,
        in_force=int(number) if number.isascii() and number.isdigit() else 0,
        window=next((one for one in windows if str(one.pk) == chosen), None),
        confirmed=confirmed,
    )


def _techniques(case: Case) -> tuple[Technique, ...]:
    return tuple(Technique.objects.filter(site=case.site_id))


def _save(request: PersonsRequest, draft: PlanDraft, coverage: Coverage) -> HttpResponse:
    form = draft.form
    try:
        kept = write_plan(
            case=draft.case,
            technique=draft.technique,
            components=components_json(form.planned()),
            facts=facts_json(form.stated()),
            windows=form.changed_windows(),
            window=draft.window,
            note=form.note,
            replaces=draft.in_force,
            confirmed=draft.given_confirmations(),
            by=request.person,
            now=coverage.scenario.site.now,
        )
    except Refused as refused:
        messages.error(request, refused.say())
        return _answer(request, draft, coverage, "plan", status=refused.status)
    case = draft.case
    lapses = lapses_now(site=case.site, changed=case, by=request.person)
    said = f"Version {kept.number} of the plan is in force."
    if any(lapse.decision.case_id == case.pk for lapse in lapses):
        said += " The confirmation has lapsed with it."
    messages.success(request, said)
    return redirect("case", pk=case.pk)


def _keep(request: PersonsRequest, draft: PlanDraft) -> Window | None:
    """As a window of the case's surgeon; the plan itself is not saved.  None where refused."""
    assert draft.case.surgeon is not None
    form = draft.form
    try:
        kept = keep_window(
            surgeon=draft.case.surgeon,
            technique=draft.technique,
            name=request.POST.get("window_name", "").replace("\0", ""),
            components=components_json(form.planned()),
            facts=facts_json(form.stated()),
            windows=form.changed_windows(),
            by=request.person,
            now=draft.case.site.now(),
        )
    except Refused as refused:
        messages.error(request, refused.say())
        return None
    messages.success(request, f"Kept as “{kept.name}”, version {kept.number}.")
    return kept


def _answer(
    request: PersonsRequest,
    draft: PlanDraft,
    coverage: Coverage,
    template: str,
    status: int = 200,
) -> HttpResponse:
    case = draft.case
    then = plan_then(coverage, draft)
    found = {report.case: report for report in coverage.report.cases}
    after = then.report(case.ref)
    page: dict[str, Any] = {
        "case": case,
        "draft": draft,
        "form": draft.form,
        "is_theirs": is_theirs(request.person, case),
        "windows": windows_in_force(case.surgeon) if case.surgeon else (),
        "before": found[case.ref].verdict,
        "after": Verdict.NOT_KNOWN if draft.form.faults else after.verdict,
        "gaps": then.gaps(case.ref),
        "others": then.others([case.ref]),
        "not_checked": NOT_CHECKED_HERE,
        "start": case.site.local(case.start),
        "as_of": case.site.local(coverage.report.now),
    }
    response = render(request, f"scheduling/planning/{template}.html", page, status=status)
    add_never_cache_headers(response)
    return response
