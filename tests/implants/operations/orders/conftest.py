from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from deploy.kit.models import Person, Site
from implants.models import Implant, Order, OrderLine, Supplier
from implants.operations.orders.drafting import add_line, begin_order
from implants.operations.orders.sending import send_order
from tests import factories
from tests.factories import NOW

Who = dict[str, Any]


@pytest.fixture
def who(coordinator: Person) -> Who:
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def supplier(site: Site) -> Supplier:
    return factories.supplier(site, use_by_days=400)


@pytest.fixture
def stem(site: Site, supplier: Supplier) -> Implant:
    implant = factories.implant(site)
    implant.supplier = supplier
    implant.save()
    return implant


@pytest.fixture
def draft(supplier: Supplier, who: Who) -> Order:
    return begin_order(supplier=supplier, **who)


@pytest.fixture
def line(draft: Order, stem: Implant, who: Who) -> OrderLine:
    """Three stems on a draft."""
    return add_line(order=draft, implant=stem, quantity=3, **who)


@pytest.fixture
def sent(draft: Order, line: OrderLine, who: Who) -> Order:
    return send_order(order=draft, **who)


@pytest.fixture
def due() -> datetime:
    return datetime.fromisoformat("2027-03-04T12:00+00:00")
