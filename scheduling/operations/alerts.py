"""Watch the cover of a site: open alerts for new causes, close those whose cause is gone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.urls import reverse

from deploy.kit.models import Person, Site
from deploy.kit.outbox import put_in_outbox
from scheduling.alerts.causes import AlertKind, Cause, Standing, lost_cover, no_good
from scheduling.alerts.held_items import held_items
from scheduling.alerts.queries import reached_by
from scheduling.coverage.report import Verdict
from scheduling.gaps import gaps_of
from scheduling.models import Alert, AlertTold, Case, VerdictSeen
from scheduling.operations.notices import fold_into_alert
from scheduling.queries import coverage_now

LAPSED = " Its confirmation lapsed."
CAUTION = "Decision support; a person decides."


@dataclass(frozen=True, slots=True)
class Watched:
    """What one look changed."""

    opened: tuple[Alert, ...]
    closed: tuple[Alert, ...]


@transaction.atomic
def watch(*, site: Site, now: datetime) -> Watched:
    """Compare what stands with what was seen last; one look a site at a time.

    An error of the engine is raised: nothing is seen, opened or closed then.
    """
    Site.objects.select_for_update().get(pk=site.pk)
    cases = {case.ref: case for case in Case.objects.filter(site=site).select_related("surgeon")}
    seen = {one.case_id: one for one in VerdictSeen.objects.filter(case__site=site)}
    still_open = {one.cause: one for one in Alert.objects.filter(site=site, closed_at=None)}
    coverage = coverage_now(site)
    standing = [
        Standing(report, gaps_of(coverage.scenario, report), cases[report.case].start)
        for report in coverage.report.cases
    ]
    before = {ref: Verdict(seen[case.pk].verdict) for ref, case in cases.items() if case.pk in seen}
    causes = [*lost_cover(standing, before, still_open, now), *no_good(held_items(site))]
    opened = [_open(cause, site, cases, now) for cause in causes if cause.key not in still_open]
    for cause in causes:
        if cause.key in still_open:
            _keep_true(still_open[cause.key], cause)
    keys = {cause.key for cause in causes}
    closed = [one for key, one in still_open.items() if key not in keys]
    Alert.objects.filter(pk__in=[one.pk for one in closed]).update(closed_at=now)
    _remember(standing, cases, seen, now)
    return Watched(tuple(opened), tuple(closed))


def _open(cause: Cause, site: Site, cases: dict[str, Case], now: datetime) -> Alert:
    case = cases.get(cause.case)
    alert = Alert.objects.create(
        site=site,
        kind=cause.kind.value,
        cause=cause.key,
        case=case,
        recall_id=cause.recall,
        load_id=cause.load,
        said=cause.said,
        roles=list(cause.to),
        opened_at=now,
    )
    to = reached_by(alert)
    had: frozenset[int] = frozenset()
    if case is not None and cause.kind is AlertKind.LOST_COVER:
        had = fold_into_alert(case=case, keys=to, now=now)
    if had:
        alert.said += LAPSED
        alert.save(update_fields=["said"])
    # One thing is said once: whoever had the mail about the lapse gets none about its cause.
    _mail(alert, to - had)
    return alert


def _keep_true(alert: Alert, cause: Cause) -> None:
    """What it says, and who can act, change with what stands; whoever it reaches now is told."""
    lapsed = LAPSED if alert.said.endswith(LAPSED) else ""
    said, roles = cause.said + lapsed, list(cause.to)
    if (alert.said, alert.roles) == (said, roles):
        return
    before = reached_by(alert)
    alert.said, alert.roles = said, roles
    alert.save(update_fields=["said", "roles"])
    _mail(alert, reached_by(alert) - before)


def _mail(alert: Alert, to: frozenset[int]) -> None:
    """Once to each account that has an address."""
    body = f"{alert.said}\n\n{alert.site.address}{reverse('alerts')}\n\n{CAUTION}"
    for user in User.objects.filter(pk__in=to).exclude(email="").order_by("pk"):
        put_in_outbox(
            kind="alert",
            to=user.email,
            subject=f"Muster: {alert.kind}",
            body=body,
            cause=f"alert {alert.pk}",
        )


def _remember(
    standing: Iterable[Standing],
    cases: dict[str, Case],
    seen: dict[int, VerdictSeen],
    now: datetime,
) -> None:
    """Write only what differs."""
    for one in standing:
        case, verdict = cases[one.report.case], one.report.verdict.value
        if (known := seen.get(case.pk)) is None or known.verdict != verdict:
            VerdictSeen.objects.update_or_create(
                case=case, defaults={"verdict": verdict, "at": now}
            )


@transaction.atomic
def act_on_alert(*, alert: Alert, by: Person, now: datetime) -> None:
    """The person goes to see to it.  The first time counts."""
    told, _ = AlertTold.objects.get_or_create(alert=alert, person=by, defaults={"shown_at": now})
    AlertTold.objects.filter(pk=told.pk, acted_at=None).update(acted_at=now)


def note_shown(*, alerts: Iterable[Alert], to: Person, now: datetime) -> None:
    """That the person was shown these; once each."""
    AlertTold.objects.bulk_create(
        [AlertTold(alert=alert, person=to, shown_at=now) for alert in alerts],
        ignore_conflicts=True,
    )
