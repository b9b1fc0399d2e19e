"""Alerts on screen: a strip on every page, and one page with the open and the lately closed."""

from __future__ import annotations

from datetime import timedelta

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from deploy.kit.doors import requires
from deploy.kit.session_limits import unattended
from scheduling.alerts.queries import acted_on, alert_for, alerts_to_read, open_alerts
from scheduling.operations.alerts import act_on_alert, note_shown
from scheduling.web.requests import PersonsRequest

door = requires("scheduling.read_cases", "scheduling.read_own_cases")
LATELY = timedelta(days=7)
MEASURED = timedelta(days=90)
MOST_CLOSED = 50


@door
@require_safe
def alerts(request: PersonsRequest) -> HttpResponse:
    """Whoever may read all cases sees what interrupts others too, and what comes of it."""
    site = request.person.site
    now = site.now()
    mine = open_alerts(request.person)
    note_shown(alerts=mine, to=request.person, now=now)
    theirs = alerts_to_read(request.person)
    reads_all = request.user.has_perm("scheduling.read_cases")
    page = {
        "alerts": mine,
        "others": theirs.filter(closed_at=None).exclude(pk__in=[one.pk for one in mine]),
        "closed": theirs.filter(closed_at__gte=now - LATELY).order_by("-closed_at")[:MOST_CLOSED],
        "reads_all": reads_all,
        "measured": acted_on(site, now - MEASURED) if reads_all else [],
        "days": MEASURED.days,
    }
    return render(request, "scheduling/alerts/alerts.html", page)


@unattended
@door
@require_safe
def open_now(request: PersonsRequest) -> HttpResponse:
    """The strip alone, asked for by every open page now and then."""
    mine = open_alerts(request.person)
    note_shown(alerts=mine, to=request.person, now=request.person.site.now())
    return render(request, "scheduling/alerts/_strip.html", {"alerts": mine})


@door
@require_POST
def see_to(request: PersonsRequest, pk: int) -> HttpResponse:
    """To where it can be seen to; that somebody went is measured."""
    alert = alert_for(request.person, pk)
    if alert is None:
        raise Http404
    act_on_alert(alert=alert, by=request.person, now=request.person.site.now())
    for name, pk_there in (
        ("case", alert.case_id),
        ("recall", alert.recall_id),
        ("load", alert.load_id),
    ):
        if pk_there:
            return redirect(name, pk=pk_there)
    return redirect("alerts")
