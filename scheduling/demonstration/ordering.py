"""The demonstration's suppliers, what was used in the two years before, and orders in every state.

Everything is entered by the operations that a coordinator's pages call, at moments before the
site's own, and comes out the same every time.
"""

from __future__ import annotations

import random
from datetime import date, datetime, time, timedelta

from django.db import transaction

from deploy.kit.models import Person, Site
from implants.models import Implant, Order, ShelfSettings, Supplier, Unit
from implants.operations.arrivals import enter_units
from implants.operations.orders.confirming import Promise, confirm_order
from implants.operations.orders.drafting import add_line, begin_order
from implants.operations.orders.sending import send_order
from implants.operations.par_levels import accept_par
from implants.operations.replacements import settle_without_order
from implants.operations.theatre import record_implanted
from implants.uses import open_uses

SEED = 2503
DAYS_BACK = 730
NOT_SETTLED = 3
"""How many of the last uses still wait for an order."""

SUPPLIERS = {
    "N": ("NORTH", "Maker North", "4471", 15 * 60),
    "S": ("SOUTH", "Maker South", "OG-2", None),
}
"""First letter of a REF → code, name, our account, cut-off in minutes after midnight."""

PRICES = {"stem": 1480, "head": 310, "shell": 690, "liner": 275}
"""Role → what is agreed for a box of it."""

USES_A_YEAR = {
    "NA12": 3.0,
    "NA13": 3.0,
    "NA14": 2.5,
    "SB4": 6.0,
    "SB5": 6.0,
    "SH-C36": 4.0,
    "SC54": 5.0,
    "SC56": 4.0,
}
USES_OF_OTHERS = 0.4


@transaction.atomic
def make_demo_orders(*, site: Site, by: Person) -> list[Order]:
    """The orders made: one late, one without a date, one draft."""
    suppliers = {letter: _supplier(site, letter) for letter in SUPPLIERS}
    for letter, supplier in suppliers.items():
        Implant.objects.filter(site=site, ref__startswith=letter).update(supplier=supplier)
    _prices(site)
    _uses(site, by)
    for ref, level in {"SC54": 14, "SC56": 12, "SLD36": 22}.items():
        _par(site, ref, level, by)
    return [
        _late(site, suppliers["S"], by),
        _undated(site, suppliers["N"], by),
        _draft(site, suppliers["S"], by),
    ]


def _prices(site: Site) -> None:
    """In whole pounds, invented.  None is agreed for what has no place here."""
    ShelfSettings.objects.update_or_create(site=site, defaults={"currency": "GBP"})
    for role, price in PRICES.items():
        Implant.objects.filter(site=site, role=role).update(price=price)


def _supplier(site: Site, letter: str) -> Supplier:
    code, name, account, cut_off = SUPPLIERS[letter]
    return Supplier.objects.create(
        site=site,
        code=code,
        name=name,
        account=account,
        cut_off_minute=cut_off,
        lead_days=2,
        use_by_days=1095,
    )


def _uses(site: Site, by: Person) -> None:
    """Boxes that came and were used, the oldest first."""
    dice = random.Random(SEED)
    today = site.local(site.now()).date()
    used: list[tuple[date, Implant]] = []
    for implant in Implant.objects.filter(site=site).order_by("ref"):
        a_year = next(
            (rate for start, rate in USES_A_YEAR.items() if implant.ref.startswith(start)),
            USES_OF_OTHERS,
        )
        after = dice.expovariate(a_year / 365)
        while after < DAYS_BACK - 1:
            used.append((today - timedelta(days=int(DAYS_BACK - after)), implant))
            after += dice.expovariate(a_year / 365)
    used.sort(key=lambda use: (use[0], use[1].ref))
    boxes = [
        Unit(
            site=site,
            code=f"OLD/{number}",
            implant=implant,
            lot=f"B{number:05}",
            expiry=day + timedelta(days=900),
            owner="consignment" if implant.role == "stem" else "owned",
        )
        for number, (day, implant) in enumerate(used, 1)
    ]
    # All at once: one by one, as they came, took most of the time.
    first = datetime.combine(used[0][0], time(11), tzinfo=site.zone)
    enter_units(units=boxes, by=by, now=first - timedelta(days=30))
    for number, (box, (day, _)) in enumerate(zip(boxes, used, strict=True), 1):
        when = datetime.combine(day, time(11), tzinfo=site.zone)
        record_implanted(unit=box, case_ref=f"OG-0{number:03}", by=by, now=when)
    for use in open_uses(site)[:-NOT_SETTLED]:
        settle_without_order(unit=use.unit, note="replaced at the time", by=by, now=site.now())


def _par(site: Site, ref: str, level: int, by: Person) -> None:
    implant = Implant.objects.get(site=site, ref=ref)
    accept_par(implant=implant, level=level, basis="as it always was", by=by, now=site.now())


def _ordered(
    site: Site, supplier: Supplier, by: Person, items: dict[str, int], days_ago: int
) -> Order:
    when = site.now() - timedelta(days=days_ago)
    order = begin_order(supplier=supplier, by=by, now=when)
    for ref, number in items.items():
        implant = Implant.objects.get(site=site, ref=ref)
        add_line(order=order, implant=implant, quantity=number, by=by, now=when)
    return order


def _late(site: Site, supplier: Supplier, by: Person) -> Order:
    """Due on Friday at noon and not here; the head is the one that OG-1021 lacks."""
    order = _ordered(site, supplier, by, {"SH-C28M4": 1, "SC54": 2}, days_ago=6)
    order = send_order(order=order, by=by, now=site.now() - timedelta(days=6))
    due = datetime.combine(
        site.local(site.now()).date() - timedelta(days=3), time(12), tzinfo=site.zone
    )
    promises = [Promise(line, line.quantity, due) for line in order.lines.all()]
    answered = site.now() - timedelta(days=5)
    return confirm_order(
        order=order, promises=promises, supplier_ref="S-20877", by=by, now=answered
    )


def _undated(site: Site, supplier: Supplier, by: Person) -> Order:
    order = _ordered(site, supplier, by, {"NA12H-225": 1}, days_ago=1)
    return send_order(order=order, by=by, now=site.now() - timedelta(days=1))


def _draft(site: Site, supplier: Supplier, by: Person) -> Order:
    return _ordered(site, supplier, by, {"SLD36": 2}, days_ago=0)
