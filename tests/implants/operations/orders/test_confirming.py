from __future__ import annotations

from datetime import date, timedelta

import pytest

from deploy.kit.errors import MoveRefused
from implants.errors import OrderRefused
from implants.models import Order, Unit
from implants.operations.orders.confirming import (
    Promise,
    confirm_order,
    give_new_date,
    say_not_coming,
    substitute,
)
from implants.operations.orders.sending import cancel_order, close_order, open_again
from implants.operations.shelf import receive_unit
from implants.order_queries import lines_of, open_orders, shown_state
from tests import factories
from tests.factories import NOW


@pytest.fixture
def confirmed(sent, line, due, who) -> Order:
    """Two of the three on Thursday; one has no date."""
    return confirm_order(
        order=sent, promises=[Promise(line, 2, due)], supplier_ref="SO 77/1", **who
    )


def counts(order: Order) -> list[tuple[int, int, int, int]]:
    return [
        (each.here, each.awaited, each.undated, each.line.not_coming) for each in lines_of(order)
    ]


def test_a_box_with_a_date_is_awaited(confirmed, due):
    boxes = Unit.objects.order_by("code")
    assert [(box.code, box.state, box.expected_at) for box in boxes] == [
        ("O-0001/1", "awaited", due),
        ("O-0001/2", "awaited", due),
    ]
    assert (confirmed.state, confirmed.supplier_ref) == ("confirmed", "SO 77/1")
    assert counts(confirmed) == [(0, 2, 1, 0)]


def test_until_it_is_here_the_earliest_use_by_of_the_terms_counts(confirmed):
    """Due on 4 March 2027, 400 days at least."""
    assert {box.expiry for box in Unit.objects.all()} == {date(2028, 4, 7)}


def test_an_item_that_does_not_expire_is_expected_so(sent, line, stem, due, who):
    factories.unit(stem, "SCREW", does_not_expire=True)
    confirm_order(order=sent, promises=[Promise(line, 1, due)], **who)
    assert Unit.objects.get(code="O-0001/1").does_not_expire


def test_the_rest_comes_later_on_back_order(confirmed, line, due, who):
    later = due + timedelta(days=14)
    confirm_order(order=confirmed, promises=[Promise(line, 1, later)], **who)
    assert counts(confirmed) == [(0, 3, 0, 0)]
    assert Order.objects.get().supplier_ref == "SO 77/1"


def test_a_new_date_is_a_movement_of_each_box(confirmed, line, due, who):
    later = due + timedelta(days=1)
    give_new_date(order=confirmed, line=line, expected_at=later, **who)
    box = Unit.objects.get(code="O-0001/1")
    assert [each.expected_at for each in box.movements.all()] == [due, later]
    assert confirmed.movements.last().reason == "2 × STEM-12 now due Fri 05 Mar 12:00"


def test_received_in_parts_then_in_full_then_closed(confirmed, line, due, who):
    first, second = Unit.objects.order_by("code")
    receive_unit(unit=first, **who)
    assert shown_state(confirmed, lines_of(confirmed)) == "received in part"
    with pytest.raises(OrderRefused, match="2 still to come"):
        close_order(order=confirmed, **who)
    receive_unit(unit=second, reason="wrap torn", **who)
    say_not_coming(order=confirmed, line=line, quantity=1, reason="no longer made", **who)
    assert shown_state(confirmed, lines_of(confirmed)) == "received in full"
    closed = close_order(order=confirmed, **who)
    assert closed.state == "closed"
    assert open_again(order=closed, reason="one more came", **who).state == "confirmed"


def test_not_coming_takes_the_undated_first_and_strikes_the_rest(confirmed, line, who):
    say_not_coming(order=confirmed, line=line, quantity=2, reason="back-order", **who)
    assert counts(confirmed) == [(0, 1, 0, 2)]
    assert [box.state for box in Unit.objects.order_by("code")] == ["awaited", "entered in error"]


def test_another_ref_stands_in_on_a_line_of_its_own(confirmed, line, site, due, who):
    new = substitute(
        order=confirmed,
        line=line,
        implant=factories.implant(site, "STEM-12-B"),
        quantity=1,
        reason="new label",
        **who,
    )
    assert (new.instead_of, new.quantity) == (line, 1)
    assert counts(confirmed) == [(0, 2, 0, 1), (0, 0, 1, 0)]
    confirm_order(order=confirmed, promises=[Promise(new, 1, due)], **who)
    assert Unit.objects.get(code="O-0001/3").implant.ref == "STEM-12-B"


def test_nothing_is_promised_where_one_promise_is_wrong(sent, line, due, who):
    wrong = [Promise(line, 2, due), Promise(line, 2, due)]
    with pytest.raises(OrderRefused, match="at most the 1 that are still to come"):
        confirm_order(order=sent, promises=wrong, **who)
    assert not Unit.objects.exists()
    with pytest.raises(OrderRefused, match="is past"):
        confirm_order(order=sent, promises=[Promise(line, 1, NOW - timedelta(days=1))], **who)
    with pytest.raises(OrderRefused, match="give a date"):
        confirm_order(order=sent, promises=[], **who)


def test_a_supplier_answers_what_was_sent(draft, line, due, who):
    with pytest.raises(OrderRefused, match="is draft"):
        confirm_order(order=draft, promises=[Promise(line, 1, due)], **who)


def test_what_was_confirmed_is_not_cancelled_as_a_whole(confirmed, who):
    with pytest.raises(MoveRefused, match="“cancel” is not possible"):
        cancel_order(order=confirmed, reason="changed our mind", **who)


def test_the_stranger_is_refused(sent, line, due, stranger):
    with pytest.raises(OrderRefused, match="another site"):
        confirm_order(order=sent, promises=[Promise(line, 1, due)], by=stranger, now=NOW)


def test_boxes_past_their_date_are_late(confirmed, due):
    (progress,) = lines_of(confirmed)
    assert (progress.late(due), progress.late(due + timedelta(minutes=1))) == (0, 2)
    assert progress.next_date == due


def test_reads_of_open_orders(confirmed, supplier, site, who, django_assert_num_queries):
    with django_assert_num_queries(3):
        (found,) = open_orders(site).values()
    assert [(each.awaited, each.undated) for each in found] == [(2, 1)]
    with django_assert_num_queries(2):
        lines_of(confirmed)
