"""Which alerts are a person's, and how often people act on them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from deploy.kit.models import Person, Site
from scheduling.access import cases_for
from scheduling.alerts.causes import AlertKind
from scheduling.models import Alert, AlertTold, Case


def open_alerts(person: Person) -> list[Alert]:
    """The open alerts that this person can act on, the newest first; those that they went to see
    to already (`seen_to`) come last.  Two queries."""
    roles = set(person.user.groups.values_list("name", flat=True))
    acted = AlertTold.objects.filter(alert=OuterRef("pk"), person=person, acted_at__isnull=False)
    alerts = Alert.objects.filter(site=person.site, closed_at=None).select_related("case__surgeon")
    in_order = alerts.annotate(seen_to=Exists(acted)).order_by("seen_to", "-opened_at", "-pk")
    return [
        alert
        for alert in in_order
        if roles & set(alert.roles)
        or (alert.case and alert.case.surgeon and alert.case.surgeon.user_id == person.user_id)
    ]


def alerts_to_read(person: Person) -> QuerySet[Alert]:
    """All of the site, open and gone, for whoever may read all its cases; else those of the cases
    that the person may read."""
    alerts = Alert.objects.filter(site=person.site).select_related("case")
    if person.user.has_perm("scheduling.read_cases"):
        return alerts
    return alerts.filter(case__in=cases_for(person).values("pk"))


def reached_by(alert: Alert) -> frozenset[int]:
    """The accounts that can act on it: the roles' people at the site, and the case's surgeon.

    One query.
    """
    of_roles = Person.objects.filter(
        site=alert.site_id, user__is_active=True, user__groups__name__in=alert.roles
    )
    keys = set(of_roles.values_list("user_id", flat=True))
    if alert.case and alert.case.surgeon and alert.case.surgeon.user_id:
        keys.add(alert.case.surgeon.user_id)
    return frozenset(keys)


def alerted_about(case: Case) -> frozenset[int]:
    """Whom an open alert tells that the case has lost its cover.  Two queries at most."""
    lost = Alert.objects.filter(case=case, kind=AlertKind.LOST_COVER.value, closed_at=None)
    alert = lost.select_related("case__surgeon").first()
    return reached_by(alert) if alert else frozenset()


def alert_for(person: Person, pk: int) -> Alert | None:
    """One that the person can act on, or whose case they may read.  Three queries."""
    alert = Alert.objects.filter(site=person.site, pk=pk).select_related("case__surgeon").first()
    if alert is None:
        return None
    roles = set(person.user.groups.values_list("name", flat=True))
    own = alert.case_id is not None and cases_for(person).filter(pk=alert.case_id).exists()
    return alert if roles & set(alert.roles) or own else None


@dataclass(frozen=True, slots=True)
class Acted:
    """How often an alert of a kind was shown to a person, and how often they went to see to it.

    An alert counts once for each person, however often they saw or pressed it."""

    kind: str
    shown: int
    acted: int


def acted_on(site: Site, since: datetime) -> list[Acted]:
    """By kind.  One query."""
    told = AlertTold.objects.filter(alert__site=site, shown_at__gte=since).order_by("alert__kind")
    counted = told.values_list("alert__kind").annotate(
        shown=Count("pk"), acted=Count("pk", filter=Q(acted_at__isnull=False))
    )
    return [Acted(*row) for row in counted]
