from __future__ import annotations

import pytest

from deploy.kit.errors import MoveRefused
from implants.errors import OrderRefused
from implants.models import OrderLine, Owner, Terms
from implants.operations.orders.drafting import add_line, begin_order, change_quantity
from implants.operations.orders.sending import cancel_order, send_order
from implants.operations.theatre import record_wasted
from implants.uses import open_uses
from tests import factories
from tests.factories import NOW


@pytest.fixture
def used(stem, who):
    """Two stems of the house's own that were dropped."""
    units = [factories.unit(stem, code) for code in ("U1", "U2")]
    return [record_wasted(unit=unit, reason="dropped", **who) for unit in units]


def test_orders_are_numbered_in_turn(supplier, who):
    assert [begin_order(supplier=supplier, **who).code for _ in range(2)] == ["O-0001", "O-0002"]


def test_a_line_of_the_same_item_grows(draft, line, stem, who):
    grown = add_line(order=draft, implant=stem, quantity=2, **who)
    assert (grown.pk, grown.quantity) == (line.pk, 5)


def test_every_change_is_on_record(draft, line, who):
    change_quantity(order=draft, line=line, quantity=1, seq=None, **who)
    entries = draft.movements.values_list("move__kind", "reason", "by__username")
    assert list(entries) == [
        ("begin", "", "coordinator"),
        ("change", "3 × STEM-12 added", "coordinator"),
        ("change", "STEM-12: 1", "coordinator"),
    ]


def test_an_order_settles_each_use_once(draft, stem, used, site, who):
    assert [use.unit.code for use in open_uses(site)] == ["U1", "U2"]
    line = add_line(order=draft, implant=stem, quantity=1, **who)
    assert [use.unit.code for use in open_uses(site)] == ["U2"]
    change_quantity(order=draft, line=line, quantity=0, seq=None, **who)
    assert len(open_uses(site)) == 2


def test_a_cancelled_order_settles_nothing(draft, stem, used, site, who):
    add_line(order=draft, implant=stem, quantity=2, **who)
    assert not open_uses(site)
    cancel_order(order=draft, reason="ordered by telephone", **who)
    assert len(open_uses(site)) == 2


def test_a_line_settles_uses_of_its_own_terms_only(draft, stem, used, site, who):
    add_line(
        order=draft,
        implant=stem,
        quantity=2,
        owner=Owner.CONSIGNMENT,
        terms=Terms.BILL_AND_REPLACE,
        **who,
    )
    assert len(open_uses(site)) == 2


def test_reads_of_open_uses(site, used, django_assert_num_queries):
    with django_assert_num_queries(2):
        open_uses(site)


def test_the_stranger_is_refused(draft, line, stem, supplier, stranger):
    theirs = {"by": stranger, "now": NOW}
    with pytest.raises(OrderRefused, match="another site"):
        begin_order(supplier=supplier, **theirs)
    with pytest.raises(OrderRefused, match="another site"):
        add_line(order=draft, implant=stem, quantity=1, **theirs)
    with pytest.raises(OrderRefused, match="another site"):
        send_order(order=draft, **theirs)


def test_whoever_was_slower_is_refused(draft, line, who):
    with pytest.raises(MoveRefused, match="changed by someone else"):
        change_quantity(order=draft, line=line, quantity=9, seq=1, **who)
    assert OrderLine.objects.get().quantity == 3


def test_what_cannot_be_ordered(draft, stem, supplier, site, who):
    other = factories.implant(site, "CUP-50", "shell")
    other.supplier = factories.supplier(site, "SOUTH")
    other.save()
    with pytest.raises(OrderRefused, match="CUP-50 does not come from Maker North"):
        add_line(order=draft, implant=other, quantity=1, **who)
    stem.superseded_by = factories.implant(site, "STEM-12-B")
    stem.save()
    with pytest.raises(OrderRefused, match="no longer made; STEM-12-B takes its place"):
        add_line(order=draft, implant=stem, quantity=1, **who)


def test_what_was_sent_is_not_changed(sent, line, who):
    with pytest.raises(OrderRefused, match="Order O-0001 is sent; only a draft is changed"):
        change_quantity(order=sent, line=line, quantity=1, seq=None, **who)


def test_an_empty_order_is_not_sent(draft, who):
    with pytest.raises(OrderRefused, match="no line yet"):
        send_order(order=draft, **who)
