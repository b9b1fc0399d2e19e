"""Pages: a form with `{% request_key %}` in it takes effect once, whatever its view does.

A double click, a reload or a resend after a lost answer gets the first answer: the same redirect
with the same messages.  A view that does something answers with a redirect; any other answer (a
form shown again with its faults) did nothing and is not kept.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.messages import get_messages
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme

from deploy.kit.models import Person
from deploy.kit.requests_once import LONGEST, Answer, Asked, KeyRefused, take_once
from deploy.kit.retry import is_safe_to_repeat

FIELD = "request_key"
NOT_PART_OF_IT = {FIELD, "csrfmiddlewaretoken"}

SAID = {
    "key_reused": "That page had been used before, and nothing was done now. Here is a fresh one.",
    "key_running": "That is still being done. Look in a moment whether it is there.",
}


def new_key() -> str:
    return uuid.uuid4().hex


class PagesOnce:
    """Middleware, the last one: does the view of a form with a key, once."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponseBase], args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        if request.method != "POST" or not request.user.is_authenticated:
            return None
        key = request.POST.get(FIELD, "")
        by: Person | None = getattr(request.user, "person", None)
        if by is None or not 0 < len(key) <= LONGEST:
            return None
        answered: list[HttpResponseBase] = []

        def act() -> Answer | None:
            queued(request).clear()
            for _, file in files(request):
                file.seek(0)
            response = view(request, *args, **kwargs)
            answered[:] = [response]
            return kept(request, response)

        try:
            answer = take_once(Asked(by, key, body_of(request)), act, wait=True)
        except KeyRefused as refusal:
            return back(request, SAID[refusal.code])
        except OperationalError as error:
            if not is_safe_to_repeat(error):
                raise
            return back(request, SAID["key_running"])
        return answered[0] if answered else again(request, answer or {})


def kept(request: HttpRequest, response: HttpResponseBase) -> Answer | None:
    if not isinstance(response, HttpResponseRedirect):
        return None
    said = [[each.level, str(each.message)] for each in queued(request)]
    return {"to": response.url, "said": said}


def again(request: HttpRequest, answer: Answer) -> HttpResponse:
    for level, message in answer["said"]:
        messages.add_message(request, level, message)
    return HttpResponseRedirect(answer["to"])


def back(request: HttpRequest, said: str) -> HttpResponse:
    """To the page that the form stood on, afresh."""
    messages.error(request, said)
    came_from = request.headers.get("Referer", "")
    is_ours = url_has_allowed_host_and_scheme(came_from, {request.get_host()})
    return HttpResponseRedirect(came_from if is_ours else request.get_full_path())


def queued(request: HttpRequest) -> list[Any]:
    """The messages that the view has added, and none that it was begun with."""
    added: list[Any] = getattr(get_messages(request), "_queued_messages", [])
    return added


def files(request: HttpRequest) -> list[tuple[str, Any]]:
    return [(name, file) for name, sent in request.FILES.lists() for file in sent]


def body_of(request: HttpRequest) -> bytes:
    """What makes it another request: the address, the fields in their order, the files' bytes."""
    fields = [(name, said) for name, said in request.POST.lists() if name not in NOT_PART_OF_IT]
    parts = [json.dumps([request.get_full_path(), fields]).encode()]
    for name, file in files(request):
        parts += [name.encode(), *file.chunks()]
    return b"\n".join(parts)
