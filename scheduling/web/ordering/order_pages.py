"""The pages of orders: all that are open, one with its lines, and what is done to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime, time, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from implants.access import implants_for
from implants.models import Credit, Order, OrderLine
from implants.operations.orders.confirming import (
    Promise,
    confirm_order,
    give_new_date,
    say_not_coming,
    substitute,
)
from implants.operations.orders.drafting import change_quantity
from implants.operations.orders.sending import cancel_order, close_order, open_again, send_order
from implants.operations.returns import settle_credit
from implants.order_access import order_for, orders_for
from implants.order_queries import lines_of, open_orders
from implants.order_states import OPEN, OrderState
from scheduling.models.house import house_of
from scheduling.queries import coverage_now
from scheduling.web.ordering.order_views import order_view
from scheduling.web.requests import PersonsRequest
from scheduling.web.views import answer, case_pks

LATELY = 20
"""How many of the orders that are over are listed."""


@requires("scheduling.read_cases")
@require_safe
def orders(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    pks = case_pks(site)
    views = [
        order_view(order, lines, coverage.report, site, pks)
        for order, lines in open_orders(site).items()
    ]
    never = datetime.max.replace(tzinfo=site.zone)
    page = {
        "orders": sorted(views, key=lambda view: (not view.late, view.next_due or never)),
        "over": orders_for(request.person).exclude(state__in=OPEN)[:LATELY],
        "credits": Credit.objects.filter(unit__site=site, settled_at=None).select_related(
            "unit__implant", "supplier"
        ),
        "may_order": request.user.has_perm("implants.order_implants"),
    }
    return answer(request, "ordering/orders", coverage, page)


@requires("scheduling.read_cases")
@require_safe
def order(request: PersonsRequest, code: str) -> HttpResponse:
    site = request.person.site
    there = order_for(request.person, code)
    coverage = coverage_now(site)
    view = order_view(there, lines_of(there), coverage.report, site, case_pks(site))
    page = {
        "order": there,
        "view": view,
        "undated": [line for line in view.lines if line.progress.undated],
        "history": [
            (site.local(entry.at), entry)
            for entry in there.movements.select_related("move", "by").order_by("-seq")
        ],
        "is_draft": there.state == OrderState.DRAFT,
        "is_with_supplier": there.state in (OrderState.SENT, OrderState.CONFIRMED),
        "may_order": request.user.has_perm("implants.order_implants"),
    }
    return answer(request, "ordering/order", coverage, page)


class _Unusable(ValueError):
    """What a form says that no operation could be asked for."""


@requires("implants.order_implants")
@require_POST
def act(request: PersonsRequest, code: str, what: str) -> HttpResponse:
    """One act upon an order, for the `seq` that the form was made for."""
    there = order_for(request.person, code)
    if what not in ACTS:
        raise Http404("no such act")
    post = request.POST
    who = {
        "order": there,
        "by": request.person,
        "now": request.person.site.now(),
        "seq": _number(post.get("seq", ""), "The page"),
    }
    try:
        ACTS[what](request, there, who)
    except (Refused, _Unusable) as refused:
        messages.error(request, str(refused))
    return redirect("order", code=there.code)


def _send(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    send_order(**who)


def _confirm(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    promises = []
    for line in order.lines.all():
        day = request.POST.get(f"day {line.pk}", "")
        if day:
            number = _number(request.POST.get(f"quantity {line.pk}", ""), line.implant.ref)
            promises.append(Promise(line, number, _delivery(order, day)))
    confirm_order(promises=promises, supplier_ref=request.POST.get("ref", "").strip()[:64], **who)


def _quantity(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    line = _line(request, order)
    number = _number(request.POST.get("quantity", ""), line.implant.ref)
    change_quantity(line=line, quantity=number, **who)


def _new_date(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    due = _delivery(order, request.POST.get("day", ""))
    give_new_date(line=_line(request, order), expected_at=due, **who)


def _not_coming(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    line = _line(request, order)
    number = _number(request.POST.get("quantity", ""), line.implant.ref)
    say_not_coming(line=line, quantity=number, reason=_reason(request), **who)


def _substitute(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    line = _line(request, order)
    ref = request.POST.get("ref", "").strip()
    other = implants_for(request.person).filter(ref=ref).first()
    if other is None:
        raise _Unusable(f"“{ref[:60]}” is not in the catalogue. Enter it there first.")
    number = _number(request.POST.get("quantity", ""), line.implant.ref)
    substitute(line=line, implant=other, quantity=number, reason=_reason(request), **who)


def _close(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    close_order(**who)


def _open_again(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    open_again(reason=_reason(request), **who)


def _cancel(request: PersonsRequest, order: Order, who: Mapping[str, Any]) -> None:
    cancel_order(reason=_reason(request), **who)


ACTS: Mapping[str, Callable[[PersonsRequest, Order, Mapping[str, Any]], None]] = {
    "send": _send,
    "confirm": _confirm,
    "quantity": _quantity,
    "new-date": _new_date,
    "not-coming": _not_coming,
    "substitute": _substitute,
    "close": _close,
    "open-again": _open_again,
    "cancel": _cancel,
}


@requires("implants.order_implants")
@require_POST
def credit(request: PersonsRequest, pk: int) -> HttpResponse:
    """The credit note for a returned box has come."""
    owed = Credit.objects.filter(pk=pk, unit__site=request.person.site).first()
    if owed is None:
        raise Http404("no such credit")
    number = request.POST.get("number", "").strip()
    try:
        settle_credit(credit=owed, number=number, by=request.person, now=request.person.site.now())
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("orders")


def _line(request: PersonsRequest, order: Order) -> OrderLine:
    pk = request.POST.get("line", "")
    line = order.lines.filter(pk=pk if pk.isdecimal() else 0).select_related("implant").first()
    if line is None:
        raise Http404("no such line")
    return line


def _number(text: str, what: str) -> int:
    if not text.strip().isdecimal() or len(text.strip()) > 6:
        raise _Unusable(f"{what}: “{text[:20]}” is not a number.")
    return int(text)


def _reason(request: PersonsRequest) -> str:
    return request.POST.get("reason", "").strip()


def _delivery(order: Order, text: str) -> datetime:
    """That day, at the hour at which deliveries come to this house."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise _Unusable(f"“{text[:20]}” is not a date.") from None
    house = house_of(order.site)
    midnight = datetime.combine(day, time.min, tzinfo=order.site.zone)
    return midnight + timedelta(minutes=house.delivery_minute)
