"""The house's books as the order list's input."""

from __future__ import annotations

from collections import defaultdict

from django.db.models import Count

from deploy.kit.models import Site
from implants.models import Implant, OrderLine, ParLevel, Supplier
from implants.order_queries import LineProgress
from implants.order_states import OPEN
from implants.uses import TERMS, open_uses
from scheduling.ordering.values import HouseStock, Ordered, SupplierTerms, Use


def house_stock(site: Site) -> HouseStock:
    """Suppliers, open uses, open orders and par levels of the site.  8 queries at most."""
    return HouseStock(
        suppliers=suppliers_by_ref(site),
        superseded=superseded_by_ref(site),
        uses=_uses(site),
        ordered=_ordered(site),
        par=par_in_force(site),
    )


def suppliers_by_ref(site: Site) -> dict[str, SupplierTerms]:
    """REF → terms; items whose catalogue row names no supplier are left out.  2 queries."""
    terms = {
        supplier.pk: SupplierTerms(
            code=supplier.code,
            name=supplier.name,
            use_by_days=supplier.use_by_days,
        )
        for supplier in Supplier.objects.filter(site=site)
    }
    of_items = Implant.objects.filter(site=site, supplier__isnull=False)
    return {ref: terms[pk] for ref, pk in of_items.values_list("ref", "supplier_id") if pk in terms}


def superseded_by_ref(site: Site) -> dict[str, str]:
    """REF → the REF that takes its place.  1 query."""
    rows = Implant.objects.filter(site=site, superseded_by__isnull=False)
    return dict(rows.values_list("ref", "superseded_by__ref"))


def par_in_force(site: Site) -> dict[str, int]:
    """REF → the level accepted last; 0 ends it.  1 query."""
    rows = ParLevel.objects.filter(implant__site=site).order_by("pk")
    return {ref: level for ref, level in rows.values_list("implant__ref", "level") if level >= 0}


def _uses(site: Site) -> dict[str, tuple[Use, ...]]:
    found: dict[str, list[Use]] = defaultdict(list)
    for use in open_uses(site):
        unit = use.unit
        found[unit.implant.ref].append(
            Use(unit.code, unit.pk, unit.owner, TERMS[use.on_use], unit.state, unit.case_ref)
        )
    return {ref: tuple(uses) for ref, uses in found.items()}


def _ordered(site: Site) -> dict[str, tuple[Ordered, ...]]:
    lines = (
        OrderLine.objects.filter(order__site=site, order__state__in=OPEN)
        .select_related("order", "implant")
        .annotate(replacing=Count("replaces"))
        .prefetch_related("boxes")
        .order_by("order_id", "pk")
    )
    found: dict[str, list[Ordered]] = defaultdict(list)
    for line in lines:
        progress = LineProgress(line, tuple(line.boxes.all()))
        to_come = progress.undated + progress.awaited
        if to_come:
            found[line.implant.ref].append(
                Ordered(
                    line.order.code, line.order.state, progress.undated, to_come, line.replacing
                )
            )
    return {ref: tuple(ordered) for ref, ordered in found.items()}
