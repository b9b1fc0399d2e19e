"""A server whose clock is wrong judges no date.

Use-by dates, holding times and "covered by Monday" all rest on the server's clock.  Where the
database's clock says something else, or where an entry was recorded later than what is now said to
be now, one of them is wrong, and every page says so instead of judging by it.  Looked at whenever
the account of a request is read, within that query.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.db.models import DateTimeField
from django.db.models.expressions import RawSQL
from django.db.models.functions import Now
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone

from deploy.kit.api_or_page import goes_to_api
from deploy.kit.ledger import ledgers

MOST = timedelta(minutes=5)
"""How far two clocks may be apart."""


class ClockWrong(Exception):
    """Nothing was judged and nothing was done."""


def what_clocks_say() -> dict[str, Any]:
    """To annotate a query with: the database's clock, and when the newest entries were recorded.

    In SQL as it stands, since every request asks: Django takes longer to write three subqueries
    than the database to answer them.
    """
    return {
        "database_clock": Now(),
        **{
            f"newest_of_{ledger.item}": RawSQL(
                f"SELECT recorded_at FROM {ledger.model(ledger.movement)._meta.db_table} "
                "ORDER BY id DESC LIMIT 1",
                (),
                DateTimeField(),
            )
            for ledger in ledgers()
        },
    }


def believe_clock(row: Any) -> None:
    """ClockWrong where this server's clock cannot be right; `row`: annotated as above."""
    now = server_clock()
    theirs: datetime = row.database_clock
    if abs(theirs - now) > MOST:
        raise ClockWrong(f"The database's clock says {_said(theirs)}, this server's {_said(now)}.")
    newest = [getattr(row, f"newest_of_{ledger.item}") for ledger in ledgers()]
    last = max((moment for moment in newest if moment is not None), default=now)
    if last - now > MOST:
        raise ClockWrong(
            f"The newest entry was recorded at {_said(last)}, and this server's clock says "
            f"{_said(now)}."
        )


def server_clock() -> datetime:
    return timezone.now()


def _said(moment: datetime) -> str:
    return f"{moment:%d %b %Y %H:%M} UTC"


class RightClock:
    """Middleware: says what is wrong (503), in words or, to the API, as JSON."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, ClockWrong):
            return None
        if goes_to_api(request):
            return JsonResponse({"code": "clock_wrong", "say": str(error)}, status=503)
        return render(request, "clock_wrong.html", {"fault": str(error)}, status=503)
