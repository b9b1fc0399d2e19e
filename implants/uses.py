"""Boxes that were used, opened or lost, and what is to follow: the second source of orders."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.db.models import QuerySet

from deploy.kit.models import Site
from implants.models import OnUse, OrderLine, Owner, Terms, Unit, UseRule
from implants.states import UnitState

USED = (UnitState.IMPLANTED, UnitState.WASTED)

USUAL: Mapping[str, OnUse] = {
    Owner.OWNED: OnUse.REPLACE,
    Owner.CONSIGNMENT: OnUse.BILL_AND_REPLACE,
    Owner.LOAN: OnUse.BILL_ONLY,
}
"""What follows a use where the house has said nothing of its own."""

TERMS: Mapping[OnUse, Terms] = {
    OnUse.REPLACE: Terms.BUY,
    OnUse.BILL_AND_REPLACE: Terms.BILL_AND_REPLACE,
    OnUse.BILL_ONLY: Terms.BILL_ONLY,
}


def on_use(owner: str, *, replaced_on_use: bool, said: str | None = None) -> OnUse:
    """What follows the use of a box: the house's word, else the item's standing arrangement with
    the supplier, else what is usual for its owner."""
    if said:
        return OnUse(said)
    if replaced_on_use and owner != Owner.LOAN:
        return OnUse.BY_ITSELF
    return USUAL[owner]


@dataclass(frozen=True, slots=True)
class OpenUse:
    """A use that nothing has settled yet."""

    unit: Unit
    on_use: OnUse


def rules_of(site: Site) -> Callable[[Unit], OnUse]:
    """What follows the use of a box of the site, which comes with its implant.  One query."""
    rules = {
        (rule.implant_id, rule.owner): rule.on_use
        for rule in UseRule.objects.filter(implant__site=site)
    }
    return lambda unit: on_use(
        unit.owner,
        replaced_on_use=unit.implant.replaced_on_use,
        said=rules.get((unit.implant_id, unit.owner)),
    )


def open_uses(site: Site) -> list[OpenUse]:
    """The oldest first; those that the supplier replaces by itself are left out.  Two queries."""
    follows = rules_of(site)
    return [
        OpenUse(unit, what)
        for unit in _unsettled(Unit.objects.filter(site=site))
        if (what := follows(unit)) is not OnUse.BY_ITSELF
    ]


def uses_for_line(line: OrderLine, most: int) -> list[Unit]:
    """The oldest uses that a line of these terms settles.  Two queries."""
    said = {rule.owner: rule.on_use for rule in line.implant.use_rules.all()}
    what = on_use(
        line.owner, replaced_on_use=line.implant.replaced_on_use, said=said.get(line.owner)
    )
    if TERMS.get(what) != line.terms:
        return []
    return list(_unsettled(Unit.objects.filter(implant=line.implant, owner=line.owner))[:most])


def _unsettled(units: QuerySet[Unit]) -> QuerySet[Unit]:
    return (
        units.filter(state__in=USED, replacement__isnull=True)
        .select_related("implant")
        .order_by("pk")
    )
