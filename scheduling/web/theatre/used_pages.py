"""Used and wasted, by month, surgeon, case and reason: on a page and as a workbook."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from deploy.kit.models import Site
from implants.models import shelf_settings
from scheduling.models import Case
from scheduling.used.book import used_workbook
from scheduling.used.reading import uses_between
from scheduling.used.tally import Count, Use, by_month, count, most_wasted_first
from scheduling.web.requests import PersonsRequest
from scheduling.web.theatre.record_pages import XLSX

MOST_CASES = 20
LONGEST_DAYS = 3 * 366


@dataclass(frozen=True, slots=True)
class Asked:
    """The span of days, both included, and the surgeon; None: everybody."""

    first: date
    last: date
    surgeon: str | None

    def holds(self, use: Use) -> bool:
        return self.surgeon is None or use.surgeon == self.surgeon


@requires("scheduling.read_cases")
@require_safe
def used(request: PersonsRequest) -> HttpResponse:
    """`?from=&to=&surgeon=`: without them the last twelve months, everybody."""
    site = request.person.site
    asked = _asked(request, site)
    everybody = uses_between(site, asked.first, asked.last)
    uses = [use for use in everybody if asked.holds(use)]
    cases = most_wasted_first(count(uses, lambda use: use.case))
    page = {
        "asked": asked,
        "surgeons": sorted({use.surgeon for use in everybody}),
        "total": next(iter(count(uses, lambda use: "")), None),
        "months": by_month(uses),
        "lines": most_wasted_first(count(uses, lambda use: use.line)),
        "by_surgeon": most_wasted_first(count(uses, lambda use: use.surgeon)),
        "reasons": most_wasted_first(count((u for u in uses if u.wasted), lambda use: use.why)),
        "wasted": [use for use in reversed(uses) if use.wasted],
        "cases": _with_keys(site, cases[:MOST_CASES]),
        "more_cases": max(0, len(cases) - MOST_CASES),
        "currency": shelf_settings(site).currency,
        "query": request.GET.urlencode(),
        "as_of": site.local(site.now()),
    }
    response = render(request, "scheduling/theatre/used.html", page)
    add_never_cache_headers(response)
    return response


@requires("scheduling.read_cases")
@require_safe
def workbook(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    asked = _asked(request, site)
    uses = [use for use in uses_between(site, asked.first, asked.last) if asked.holds(use)]
    answer = HttpResponse(used_workbook(uses, shelf_settings(site).currency), content_type=XLSX)
    named = f"used-and-wasted-{asked.first}-to-{asked.last}.xlsx"
    answer["Content-Disposition"] = f'attachment; filename="{named}"'
    add_never_cache_headers(answer)
    return answer


def _asked(request: PersonsRequest, site: Site) -> Asked:
    """What is no date, or no span, is left out; a span is three years at most."""
    today = site.local(site.now()).date()
    last = _day(request.GET.get("to", "")) or today
    first = _day(request.GET.get("from", "")) or _eleven_months_before(last)
    if not 0 <= (last - first).days <= LONGEST_DAYS:
        first = _eleven_months_before(last)
    return Asked(first, last, request.GET.get("surgeon") or None)


def _day(text: str) -> date | None:
    try:
        day = parse_date(text)
    except ValueError:
        return None
    return day if day and 1970 <= day.year < 2200 else None


def _eleven_months_before(day: date) -> date:
    """The first of that month: with the month of `day` itself it makes twelve."""
    months = day.year * 12 + day.month - 1 - 11
    return date(months // 12, months % 12 + 1, 1)


def _with_keys(site: Site, counts: list[Count]) -> list[tuple[Count, int | None]]:
    """Each case beside its key; None where no case of the site has the reference.  One query."""
    refs = [str(one.of) for one in counts]
    keys = dict(Case.objects.filter(site=site, ref__in=refs).values_list("ref", "pk"))
    return [(one, keys.get(str(one.of))) for one in counts]
