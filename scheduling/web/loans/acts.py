"""What is done to a loan at the coordinator's desk."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from implants.models import Supplier
from scheduling.loans.access import loan_for
from scheduling.models import Loan
from scheduling.operations.loans.arriving import end_check_in, loan_arrived
from scheduling.operations.loans.asking import (
    add_to_loan,
    ask_for_loan,
    begin_loan,
    call_off_loan,
    promise_loan,
)
from scheduling.operations.loans.returning import change_due_back, return_loan
from scheduling.web.loans.forms import day_in, lent_in, moment_in
from scheduling.web.requests import PersonsRequest

Who = Mapping[str, Any]


@requires("scheduling.borrow")
@require_POST
def begin(request: PersonsRequest) -> HttpResponse:
    post, person = request.POST, request.person
    key = post.get("supplier", "")
    supplier = Supplier.objects.filter(
        site=person.site, pk=key if key.isdecimal() and len(key) < 10 else 0
    ).first()
    try:
        if supplier is None:
            raise ValueError("Choose the supplier. New ones are entered under “Set up”.")
        loan = begin_loan(
            supplier=supplier,
            lent=lent_in(post, person),
            due_back=day_in(post, "due_back"),
            why=post.get("why", "").replace("\0", ""),
            by=person,
            now=person.site.now(),
        )
    except (Refused, ValueError) as refused:
        messages.error(request, str(refused))
        return redirect("loans")
    return redirect("loan", code=loan.code)


@requires("scheduling.borrow")
@require_POST
def act(request: PersonsRequest, code: str, what: str) -> HttpResponse:
    """One act upon a loan, for the `seq` that the form was made for."""
    loan = loan_for(request.person, code)
    if what not in ACTS:
        raise Http404("no such act")
    seq = request.POST.get("seq", "")
    who = {
        "loan": loan,
        "by": request.person,
        "now": request.person.site.now(),
        "seq": int(seq) if seq.isdecimal() and len(seq) < 10 else -1,
    }
    try:
        ACTS[what](request, who)
    except (Refused, ValueError) as refused:
        messages.error(request, str(refused))
    return redirect("loan", code=loan.code)


def _text(request: PersonsRequest, name: str) -> str:
    return request.POST.get(name, "").replace("\0", "").strip()


def _ask(request: PersonsRequest, who: Who) -> Loan:
    return ask_for_loan(**who)


def _add(request: PersonsRequest, who: Who) -> Loan:
    return add_to_loan(lent=lent_in(request.POST, request.person), **who)


def _promise(request: PersonsRequest, who: Who) -> Loan:
    return promise_loan(expected_at=moment_in(request.POST, request.person), **who)


def _arrived(request: PersonsRequest, who: Who) -> Loan:
    return loan_arrived(
        delivery_note=_text(request, "delivery_note"), place=_text(request, "place"), **who
    )


def _end(request: PersonsRequest, who: Who) -> Loan:
    return end_check_in(**who)


def _due_back(request: PersonsRequest, who: Who) -> Loan:
    day = day_in(request.POST, "due_back")
    if day is None:
        raise ValueError("Say the day on which it goes back.")
    return change_due_back(due_back=day, **who)


def _return(request: PersonsRequest, who: Who) -> Loan:
    return return_loan(**who)


def _call_off(request: PersonsRequest, who: Who) -> Loan:
    return call_off_loan(reason=_text(request, "reason"), **who)


ACTS: Mapping[str, Callable[[PersonsRequest, Who], Loan]] = {
    "ask": _ask,
    "add": _add,
    "promise": _promise,
    "arrived": _arrived,
    "end": _end,
    "due-back": _due_back,
    "return": _return,
    "call-off": _call_off,
}
