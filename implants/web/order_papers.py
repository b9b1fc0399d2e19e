"""An order as the supplier gets it: on paper, and as a workbook.  Nothing of any case is on it."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from deploy.kit.persons_request import PersonsRequest
from deploy.kit.workbooks.writing import write_workbook
from implants.models import Order, OrderLine, Owner, Terms
from implants.order_access import order_for
from implants.order_workbook import ORDER_WORKBOOK, rows_of

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@requires("implants.read_shelf")
@require_safe
def paper(request: PersonsRequest, code: str) -> HttpResponse:
    order = order_for(request.person, code)
    site = order.site
    page = {
        "order": order,
        "lines": [
            (line.quantity - line.not_coming, line, asked_in_words(line), used_boxes(line))
            for line in lines_sent(order)
        ],
        "printed": site.local(site.now()),
    }
    answer = render(request, "implants/order_paper.html", page)
    add_never_cache_headers(answer)
    return answer


@requires("implants.read_shelf")
@require_safe
def workbook(request: PersonsRequest, code: str) -> HttpResponse:
    order = order_for(request.person, code)
    rows = rows_of(order, lines_sent(order))
    answer = HttpResponse(write_workbook(ORDER_WORKBOOK, rows), content_type=XLSX)
    answer["Content-Disposition"] = f'attachment; filename="order-{order.code}.xlsx"'
    add_never_cache_headers(answer)
    return answer


def lines_sent(order: Order) -> list[OrderLine]:
    """The lines of which anything is asked for.  Two queries."""
    lines = order.lines.select_related("implant").prefetch_related("replaces__unit")
    return [line for line in lines if line.quantity > line.not_coming]


def asked_in_words(line: OrderLine) -> str:
    if line.terms != Terms.BUY:
        return line.terms
    return "to buy" if line.owner == Owner.OWNED else f"on {line.owner}"


def used_boxes(line: OrderLine) -> list[str]:
    """The used boxes that are to be billed, by their labels; the house's own were paid before."""
    if line.terms == Terms.BUY:
        return []
    return [
        ", ".join(
            part
            for part in (
                f"LOT {each.unit.lot}" if each.unit.lot else "",
                f"serial {each.unit.serial}" if each.unit.serial else "",
            )
            if part
        )
        or each.unit.code
        for each in line.replaces.all()
    ]
