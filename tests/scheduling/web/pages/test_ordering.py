"""The order list and the orders, as their users press them."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from openpyxl import load_workbook

from deploy.kit.models import Person, Site
from implants.models import Implant, Order, Supplier, Unit
from implants.operations.orders.drafting import begin_order
from implants.operations.shelf import receive_unit
from implants.operations.theatre import record_implanted
from scheduling.models import GapNote
from tests import factories
from tests.scheduling.web.pages.test_views import words_of

STEM = "STEM-12-STAN-225"
ASK = f"OWNED|BUY|{STEM}".replace("OWNED", "owned")


@pytest.fixture
def supplier(site: Site) -> Supplier:
    """The recorded house with Maker North behind every item, no lead time, and no planned stem."""
    supplier = factories.supplier(site, lead_days=0)
    Implant.objects.filter(site=site).update(
        supplier=supplier, lead_days=None, replaced_on_use=False
    )
    return supplier


@pytest.fixture
def no_stem(site: Site, supplier: Supplier, coordinator: Person) -> None:
    for unit in Unit.objects.filter(site=site, implant__ref=STEM):
        factories.held(unit, "recalled")


@pytest.fixture
def desk(coordinator: Person, client_of: Callable[[Person], Client]) -> Client:
    return client_of(coordinator)


def press(desk: Client, path: str, **said: Any) -> str:
    """Post a form; the page that follows, in words."""
    answer = desk.post(path, said, follow=True)
    assert answer.status_code == 200
    return words_of(answer)


def made(desk: Client, number: str = "2") -> Order:
    press(desk, "/to-order/make/", **{"line": ASK, f"quantity {ASK}": number})
    return Order.objects.get()


def act(desk: Client, order: Order, what: str, **said: Any) -> str:
    order.refresh_from_db()
    return press(desk, f"/orders/{order.code}/{what}/", seq=order.seq, **said)


def test_the_list_says_what_by_when_why_and_how_it_comes_about(desk: Client, no_stem: None) -> None:
    """Monday 9 March 09:00; A needs it on Tuesday 07:30, and a delivery comes today at noon."""
    said = words_of(desk.get("/to-order/"))
    assert "order by 12:00 Mon 9 Mar" in said
    assert "1 planned for A, needed by 07:30 Tue 10 Mar" in said
    assert "Booked cases 2 lacking − 0 on order without a date 2" in said
    assert "the largest of these: one box answers them all 2" in said


def test_from_the_list_to_the_shelf_and_the_gap_is_gone(
    desk: Client, no_stem: None, coordinator: Person, site: Site
) -> None:
    order = made(desk)
    line = order.lines.get()
    assert line.why.splitlines()[0] == "case A lacks 1 planned; order by Mon 9 Mar 12:00"
    assert "Nothing is to be ordered today." in words_of(desk.get("/to-order/"))
    assert f"Order {order.code}" in words_of(desk.get(f"/orders/{order.code}/paper/"))
    assert "O-0001: sent" in act(desk, order, "send")
    promise = {f"day {line.pk}": "2026-03-09", f"quantity {line.pk}": "2", "ref": "SO 1"}
    said = act(desk, order, "confirm", **promise)
    assert "O-0001: confirmed" in said
    assert "A, planned, needed by 07:30 Tue 10 Mar" in said
    for box in Unit.objects.filter(order_line=line):
        receive_unit(unit=box, by=coordinator, now=site.now())
    assert "O-0001: received in full" in words_of(desk.get("/orders/O-0001/"))
    assert "O-0001: closed" in act(desk, order, "close")
    assert STEM not in words_of(desk.get("/to-order/"))


def test_late_boxes_chase_the_cases_that_lack_the_item(
    desk: Client, no_stem: None, site: Site
) -> None:
    order = made(desk)
    line = order.lines.get()
    act(desk, order, "send")
    act(desk, order, "confirm", **{f"day {line.pk}": "2026-03-09", f"quantity {line.pk}": "2"})
    site.clock_set_to = site.now().replace(hour=13)
    site.save()
    said = words_of(desk.get("/orders/"))
    assert "2 late: ring them" in said
    assert "A lacks it" in said


def test_back_order_not_coming_and_another_ref(desk: Client, no_stem: None) -> None:
    order = made(desk, "4")
    line = order.lines.get()
    act(desk, order, "send")
    act(desk, order, "confirm", **{f"day {line.pk}": "2026-03-20", f"quantity {line.pk}": "1"})
    assert "1 due 12:00 Fri 20 Mar 3 without a date" in words_of(desk.get("/orders/O-0001/"))
    assert "1 due 12:00 Mon 23 Mar" in act(desk, order, "new-date", line=line.pk, day="2026-03-23")
    said = act(desk, order, "not-coming", line=line.pk, quantity="1", reason="no longer made")
    assert "1 not coming" in said
    other = {"line": line.pk, "quantity": "1", "reason": "new label", "ref": "STEM-12-HIGH-225"}
    assert f"instead of {STEM}" in act(desk, order, "substitute", **other)


def test_what_cannot_be_done_is_said_and_not_done(desk: Client, no_stem: None) -> None:
    order = made(desk)
    line = order.lines.get()
    assert "“x” is not a number" in act(desk, order, "quantity", line=line.pk, quantity="x")
    assert "is draft; the supplier answers" in act(desk, order, "confirm", ref="SO 1")
    assert "changed by someone else" in press(desk, "/orders/O-0001/send/", seq=1)
    assert "Choose at least one line." in press(desk, "/to-order/make/")
    wrong = {"line": ASK, f"quantity {ASK}": "0"}
    assert "a number from 1 to 999" in press(desk, "/to-order/make/", **wrong)
    assert "not in the catalogue" in (
        act(desk, order, "send") and act(desk, order, "substitute", line=line.pk, ref="X")
    )
    order.refresh_from_db()
    assert (order.state, line.boxes.count()) == ("sent", 0)


def test_a_used_box_on_consignment_is_billed_with_its_lot(
    desk: Client, site: Site, supplier: Supplier, coordinator: Person
) -> None:
    box = Unit.objects.filter(site=site, implant__ref="STEM-11-STAN-225").first()
    assert box is not None
    Unit.objects.filter(pk=box.pk).update(owner="consignment")
    record_implanted(unit=box, case_ref="Z9", by=coordinator, now=site.now())
    key = "consignment|BILL_AND_REPLACE|STEM-11-STAN-225"
    said = words_of(desk.get("/to-order/"))
    assert "1 used and not settled yet (case Z9)" in said
    press(desk, "/to-order/make/", **{"line": key, f"quantity {key}": "1"})
    paper = words_of(desk.get("/orders/O-0001/paper/"))
    assert "bill the used box and send another used: LOT L1" in paper
    assert "Z9" not in paper
    book = load_workbook(io.BytesIO(desk.get("/orders/O-0001/workbook/").content))
    assert [cell.value for cell in book["Order"][2]][2:] == [
        "STEM-11-STAN-225",
        None,
        "stem, size 11, STANDARD offset, 225 mm",
        1,
        "bill the used box and send another",
        "consignment",
        "LOT L1",
    ]


def test_a_use_that_no_order_follows_is_said_why(
    desk: Client, site: Site, supplier: Supplier, coordinator: Person
) -> None:
    box = Unit.objects.filter(site=site, implant__ref="STEM-11-STAN-225").first()
    assert box is not None
    record_implanted(unit=box, case_ref="Z9", by=coordinator, now=site.now())
    assert "say why it is not replaced" in press(desk, "/to-order/settle/", box=box.pk)
    said = press(desk, "/to-order/settle/", box=box.pk, note="no longer kept")
    assert f"{box.code}: no order follows." in said
    assert "not settled yet" not in said


def test_what_is_no_longer_made_is_not_chosen(desk: Client, no_stem: None, site: Site) -> None:
    new = Implant.objects.get(site=site, ref="STEM-12-HIGH-225")
    Implant.objects.filter(site=site, ref=STEM).update(superseded_by=new)
    said = words_of(desk.get("/to-order/"))
    assert "No longer made. STEM-12-HIGH-225 takes its place" in said
    chosen = {"line": ASK, f"quantity {ASK}": "1"}
    assert "no longer made; STEM-12-HIGH-225" in press(desk, "/to-order/make/", **chosen)
    assert not Order.objects.exists()


def test_somebody_takes_a_gap_on_and_is_done_with_it(desk: Client, no_stem: None) -> None:
    said = press(desk, "/to-order/note/", ref=STEM, note="rang Maker North")
    assert "Coordinator is on it since 09:00 Mon 9 Mar rang Maker North" in said
    assert "Nobody is on it" in press(desk, "/to-order/note/", ref=STEM, done="yes")
    assert "say what you are doing about it" in press(desk, "/to-order/note/", ref=STEM)
    assert list(GapNote.objects.values_list("note", "done")) == [
        ("rang Maker North", False),
        ("", True),
    ]


def test_who_may_only_read_makes_and_changes_nothing(
    manager: Person,
    coordinator: Person,
    site: Site,
    no_stem: None,
    supplier: Supplier,
    client_of: Callable[[Person], Client],
) -> None:
    order = begin_order(supplier=supplier, by=coordinator, now=site.now())
    reads = client_of(manager)
    assert "Make drafts" not in words_of(reads.get("/to-order/"))
    assert reads.get(f"/orders/{order.code}/").status_code == 200
    for path in (
        "/to-order/make/",
        "/to-order/note/",
        "/to-order/settle/",
        f"/orders/{order.code}/send/",
    ):
        assert reads.post(path, {"seq": 1}).status_code == 403
    assert Order.objects.get().seq == 1


def test_another_sites_order_is_none(
    site: Site, stranger: Person, client_of: Callable[[Person], Client], desk: Client
) -> None:
    order = begin_order(supplier=factories.supplier(stranger.site), by=stranger, now=site.now())
    for path in ("", "paper/", "workbook/"):
        assert desk.get(f"/orders/{order.code}/{path}").status_code == 404
    assert desk.post(f"/orders/{order.code}/send/", {"seq": 1}).status_code == 404


def test_costs_a_fixed_number_of_queries(
    desk: Client, no_stem: None, django_assert_num_queries: Any
) -> None:
    order = made(desk)
    act(desk, order, "send")
    for path, queries in (("/to-order/", 35), ("/orders/", 30), ("/orders/O-0001/", 29)):
        with django_assert_num_queries(queries):
            desk.get(path)
