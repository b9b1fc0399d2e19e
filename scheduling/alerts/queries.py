"""Which alerts are a person's, and how often people act on them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Q

from deploy.kit.models import Person, Site
from scheduling.access import cases_for
from scheduling.models import Alert, AlertTold


def open_alerts(person: Person) -> list[Alert]:
    """The open alerts that this person can act on, the newest first.  Two queries."""
    roles = set(person.user.groups.values_list("name", flat=True))
    alerts = Alert.objects.filter(site=person.site, closed_at=None).select_related("case__surgeon")
    return [
        alert
        for alert in alerts
        if roles & set(alert.roles)
        or (alert.case and alert.case.surgeon and alert.case.surgeon.user_id == person.user_id)
    ]


def alert_for(person: Person, pk: int) -> Alert | None:
    """One of them, open or not.  Three queries."""
    alert = Alert.objects.filter(site=person.site, pk=pk).select_related("case__surgeon").first()
    if alert is None:
        return None
    roles = set(person.user.groups.values_list("name", flat=True))
    own = alert.case_id is not None and cases_for(person).filter(pk=alert.case_id).exists()
    return alert if roles & set(alert.roles) or own else None


@dataclass(frozen=True, slots=True)
class Acted:
    """How often an alert of a kind was shown to a person, and how often they went to see to it."""

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
