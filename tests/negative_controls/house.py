"""The rows that the controls work on: a small house with something of everything."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from deploy.kit.ledger import Ledger
from deploy.kit.models import Person, Site
from implants.ledger import ORDERS, UNITS
from implants.models import Order, Unit
from implants.operations.orders.drafting import begin_order
from scheduling.loans.states import LOANS
from scheduling.models import Case, Loan
from scheduling.operations.loans.asking import Lent, begin_loan
from tests import factories
from tests.factories import NOW
from trays.ledger import TRAYS
from trays.models import Tray


@dataclass(frozen=True, slots=True)
class House:
    """`left` and `other`: cases of the morrow, both of the left side, on the same day."""

    site: Site
    by: Person
    second: Person
    left: Case
    other: Case
    unit: Unit
    expired: Unit
    right: Unit
    tray: Tray
    order: Order
    loan: Loan

    def item(self, ledger: Ledger) -> Any:
        items = {UNITS.item: self.unit, ORDERS.item: self.order, LOANS.item: self.loan}
        return items.get(ledger.item, self.tray)


def house(site: Site, by: Person, second: Person) -> House:
    implant = factories.implant(site)
    supplier = factories.supplier(site)
    return House(
        site=site,
        by=by,
        second=second,
        left=factories.case(site, "C1"),
        other=factories.case(site, "C2"),
        unit=factories.unit(implant),
        expired=factories.unit(implant, "U-OLD", expiry=date(2027, 2, 28)),
        right=factories.unit(factories.implant(site, "RIGHT", side="right"), "U-RIGHT"),
        tray=factories.tray(factories.configuration(site)),
        order=begin_order(supplier=supplier, by=by, now=NOW),
        loan=begin_loan(supplier=supplier, lent=Lent(boxes={implant: 1}), by=by, now=NOW),
    )


def entry(item: Any, ledger: Ledger, person: Person, move: Any, **values: Any) -> None:
    """Add a movement as a row, next in order and signed unless the values say otherwise."""
    item.refresh_from_db()
    standing = {name: getattr(item, name) for name in ledger.standing}
    said = {"seq": item.seq + 1, "by": person.user, "at": NOW, "day": NOW.date()}
    item.movements.create(move=move, **standing | said | values)


def trial(ledger: Ledger, item: Any, **flags: bool) -> Any:
    """A move of the control's own from where the item stands; a change of nothing else."""
    state = getattr(item, ledger.state)
    move = ledger.model(ledger.move)
    return move.objects.create(from_state=state, to_state=state, kind="trial", **flags)


def kind(ledger: Ledger, item: Any, name: str) -> Any:
    """The move of that kind from where the item stands."""
    state = getattr(item, ledger.state)
    return ledger.model(ledger.move).objects.get(kind=name, from_state=state)


LEDGERS = (UNITS, TRAYS, ORDERS, LOANS)
LATER = timedelta(days=3)
