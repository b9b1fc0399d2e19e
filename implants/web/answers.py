"""The answer to a scan, from the request that gave it to the page that shows it.

It waits in the session under a token that the address carries: the page can be loaded again, and
an older tab does not show the answer to another scan.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

KEPT = "answer"


def answered(request: HttpRequest, address: str, answer: Mapping[str, Any]) -> HttpResponse:
    """To the page at `address`, which shows the answer.  The answer is texts and lists of them."""
    token = uuid.uuid4().hex
    request.session[KEPT] = {"token": token, "answer": dict(answer)}
    return HttpResponseRedirect(f"{address}?answer={token}")


def answer_of(request: HttpRequest) -> dict[str, Any] | None:
    """The answer that the address asks for, or None."""
    kept = request.session.get(KEPT)
    if kept is None or kept["token"] != request.GET.get("answer"):
        return None
    return dict(kept["answer"])
