"""What was scanned at a bench: a tray, a machine, a case, or nothing that we know."""

from __future__ import annotations

from deploy.kit.models import Site
from scheduling.models import Case, CaseStatus, PickList
from scheduling.pick_lists.links import ListCode, own_code
from scheduling.pick_lists.reading import read
from scheduling.pick_lists.scan_values import TrayRead, Unreadable
from trays.models import Machine, Tray

OPEN = (CaseStatus.BOOKED, CaseStatus.STARTED)


def tray_scanned(site: Site, text: str) -> Tray | str:
    """The tray, or why there is none, in words.  At most 6 queries."""
    named, _ = read(text, site=site, today=site.local(site.now()).date())
    if isinstance(named, TrayRead) and named.code:
        return Tray.objects.select_related("configuration", "site").get(site=site, code=named.code)
    if isinstance(named, TrayRead):
        return f"No tray of this site is {named.said}."
    if isinstance(named, Unreadable):
        return named.why
    return f"This is no tray: {named.said}."


def machine_scanned(site: Site, text: str) -> Machine | None:
    """One query."""
    return Machine.objects.filter(site=site, code__iexact=text.strip()).first()


def case_scanned(site: Site, text: str) -> Case | None:
    """An open case by its reference, or by the code of its pick list.  At most two queries."""
    own = own_code(text)
    cases = Case.objects.filter(site=site, status__in=OPEN).select_related("theatre")
    if isinstance(own, ListCode):
        found = PickList.objects.filter(site=site, code=own.code).values_list("case", flat=True)
        return cases.filter(pk__in=[pk for pk in found if pk is not None]).first()
    return cases.filter(ref__iexact=text.strip()).first()
