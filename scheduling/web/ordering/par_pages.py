"""Par levels: what is in force, what the house's own use proposes, and the accepting of it."""

from __future__ import annotations

from decimal import Decimal
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.templatetags.muster import span
from implants.access import implants_for
from implants.operations.par_levels import accept_par
from implants.par.demand import days_on_record, demand_by_ref
from implants.par.poisson import Rate
from implants.par.proposal import Proposal
from scheduling.ordering.house_stock import house_stock
from scheduling.ordering.par_proposals import Asked, ParTable, par_table
from scheduling.queries import Coverage, coverage_now
from scheduling.web.requests import PersonsRequest
from scheduling.web.views import answer

TARGETS = ("90", "95", "98", "99")
YEARS = {"1": 365, "2": 730, "3": 1095}
WORTH_SAYING = Decimal("0.001")
"""Uses fewer waiting; a box that gains less is not worth a line."""
RATES = {"fill": Rate.FILL, "ready": Rate.READY}


@requires("scheduling.read_cases")
@require_safe
def par_levels(request: PersonsRequest) -> HttpResponse:
    chosen = choice(request.GET)
    table, coverage, asked = _table(request, chosen)
    rows = [(row, reckoned(row.proposal)) for row in table.rows]
    lines = [(line, list(of_line)) for line, of_line in groupby(rows, lambda each: each[0].line)]
    page = {
        "lines": [
            (line, of_line, sum(row.differs for row, _ in of_line)) for line, of_line in lines
        ],
        "next_boxes": [
            (box, next(row.words for row in table.rows if row.ref == box.ref), f"{box.gain:.3f}")
            for box in table.next_boxes
            if box.gain >= WORTH_SAYING
        ],
        "chosen": chosen,
        "asked": asked,
        "targets": TARGETS,
        "years": YEARS,
        "rates": RATES,
        "may_order": request.user.has_perm("implants.order_implants"),
    }
    return answer(request, "ordering/par_levels", coverage, page)


@requires("implants.order_implants")
@require_POST
def accept(request: PersonsRequest) -> HttpResponse:
    """The chosen levels are in force, each with what its proposal rested on; all or none."""
    chosen = choice(request.POST)
    table, _, _ = _table(request, chosen)
    basis = {row.ref: "; ".join(said for said, _ in reckoned(row.proposal)) for row in table.rows}
    refs = request.POST.getlist("item")
    implants = {each.ref: each for each in implants_for(request.person).filter(ref__in=refs)}
    now = request.person.site.now()
    try:
        with transaction.atomic():
            for ref in refs:
                text = request.POST.get(f"level {ref}", "")
                if ref not in implants or not text.isdecimal() or len(text) > 4:
                    raise ValueError(f"{ref[:60]}: a level is a number.")
                accept_par(
                    implant=implants[ref],
                    level=int(text),
                    basis=basis.get(ref, ""),
                    by=request.person,
                    now=now,
                )
        if refs:
            messages.success(request, f"In force from now on: {', '.join(refs)}.")
        else:
            messages.error(request, "Choose at least one level.")
    except (Refused, ValueError) as refused:
        messages.error(request, str(refused))
    return redirect(f"{reverse('par_levels')}?{_query(chosen)}")


def choice(said: QueryDict) -> dict[str, str]:
    """What was chosen, or the usual: a fill rate of 95 % over two years."""
    return {
        key: value if (value := said.get(key, "")) in known else usual
        for key, known, usual in (
            ("rate", RATES, "fill"),
            ("target", TARGETS, "95"),
            ("years", YEARS, "2"),
        )
    }


def reckoned(proposal: Proposal) -> list[tuple[str, str]]:
    """Every figure of a proposal: what it is, and where it comes from."""
    demand, terms = proposal.demand, proposal.terms
    percent = f"{proposal.target * 100:.0f} %"
    said = [
        (f"{demand.uses} used in {demand.days} days", "implanted, wasted or lost, by the ledger"),
        (
            f"longest wait {span(terms.wait_minutes)}",
            "from a use to the shelf, just after a cut-off",
        ),
        (f"{proposal.mean:.3f} used while waiting", "uses a day times the wait: the mean m"),
        (f"{proposal.rate} {percent} asks for {proposal.by_rate}", _formula(proposal.rate)),
        (f"one case may want {terms.least}", "the most that a booked case asks for at once"),
        (
            f"at {proposal.level}: {proposal.rate} {proposal.attained * 100:.1f} %",
            f"{proposal.waiting:.3f} uses wait and {proposal.lying:.2f} boxes lie here, on average",
        ),
    ]
    if terms.shelf_life_days is not None and proposal.level:
        said.append(
            (
                f"a box expires unused in at most {proposal.expires * 100:.0f} % of times",
                f"with {terms.shelf_life_days} days of life when it comes, the oldest used first",
            )
        )
    return said


def _formula(rate: Rate) -> str:
    if rate is Rate.FILL:
        return "the smallest S with P(X ≤ S − 1) that high: the next use finds a box"
    return "the smallest S with P(X ≤ S) that high: nothing is owed at a moment looked at"


def _table(request: PersonsRequest, chosen: dict[str, str]) -> tuple[ParTable, Coverage, Asked]:
    site = request.person.site
    coverage = coverage_now(site)
    today = site.local(coverage.report.now).date()
    days = days_on_record(site, today, YEARS[chosen["years"]])
    asked = Asked(RATES[chosen["rate"]], Decimal(chosen["target"]) / 100, days)
    demand = demand_by_ref(site, today, days)
    table = par_table(coverage.scenario, coverage.report, house_stock(site), demand, asked)
    return table, coverage, asked


def _query(chosen: dict[str, Any]) -> str:
    said = QueryDict(mutable=True)
    said.update(chosen)
    return said.urlencode()
