from __future__ import annotations

import pytest

from deploy.kit.errors import MoveRefused
from implants.errors import OrderRefused
from implants.models import Credit
from implants.operations.returns import return_boxes, settle_credit
from tests import factories
from tests.factories import NOW


@pytest.fixture
def who(coordinator):
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def stem(site):
    implant = factories.implant(site)
    implant.supplier = factories.supplier(site)
    implant.save()
    return implant


def test_the_supplier_owes_a_credit_for_the_houses_own(stem, who):
    units = [factories.unit(stem, "U1"), factories.unit(stem, "U2", owner="consignment")]
    gone = return_boxes(units=[(unit, 1) for unit in units], reason="short-dated", **who)
    assert {unit.state for unit in gone} == {"returned to supplier"}
    (credit,) = Credit.objects.all()
    assert (credit.unit.code, credit.supplier.code, credit.reason) == ("U1", "NORTH", "short-dated")


def test_a_credit_is_settled_once_with_its_number(stem, who):
    return_boxes(units=[(factories.unit(stem), 1)], reason="wrong box", **who)
    credit = Credit.objects.get()
    assert settle_credit(credit=credit, number="CN 5", **who).settled_at == NOW
    with pytest.raises(OrderRefused, match="settled before with credit note CN 5"):
        settle_credit(credit=credit, number="CN 6", **who)


def test_all_go_back_or_none(stem, who):
    units = [factories.unit(stem, "U1"), factories.unit(stem, "U2")]
    with pytest.raises(MoveRefused):
        return_boxes(units=[(units[0], 1), (units[1], 0)], reason="short-dated", **who)
    units[0].refresh_from_db()
    assert units[0].state == "on the shelf"


def test_a_credit_needs_a_supplier_and_a_return_a_reason(site, who):
    unit = factories.unit(factories.implant(site, "CUP"))
    with pytest.raises(OrderRefused, match="the catalogue names no supplier for CUP"):
        return_boxes(units=[(unit, 1)], reason="wrong box", **who)
    with pytest.raises(OrderRefused, match="Say why"):
        return_boxes(units=[(unit, 1)], reason="", **who)


def test_the_stranger_is_refused(stem, who, stranger):
    with pytest.raises(MoveRefused, match="another site"):
        return_boxes(units=[(factories.unit(stem), 1)], reason="x", by=stranger, now=NOW)
    return_boxes(units=[(factories.unit(stem, "U2"), 1)], reason="wrong box", **who)
    with pytest.raises(OrderRefused, match="another site"):
        settle_credit(credit=Credit.objects.get(), number="CN 5", by=stranger, now=NOW)
