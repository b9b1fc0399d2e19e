"""What REST views that write share: refusals as answers, the key, the number of the last movement.

class Quarantine(OperationView):
    door = (...)

    @once(asks=QuarantineSerializer, gives=UnitSerializer)
    def post(self, request, code): ...
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import date
from functools import wraps
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from deploy.kit.api import DoorView, ErrorSerializer, Serializer, error_answer
from deploy.kit.errors import Refused
from deploy.kit.requests_once import LONGEST, Answer, Asked, KeyRefused, take_once

HEADER = "Idempotency-Key"
"""IETF draft-ietf-httpapi-idempotency-key-header."""

KEY = OpenApiParameter(
    HEADER,
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    required=True,
    description="1 to 64 visible characters, new for each request.  A repeat with the same key and "
    "the same body changes nothing and gives the first answer again.",
)

Handler = Callable[..., Response]


def refusal_answer(exception: Exception, context: dict[str, Any]) -> Response | None:
    """409, 400 or 422 with the code, the sentence and the values; else as for any view."""
    if not isinstance(exception, Refused):
        return error_answer(exception, context)
    values = {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in exception.values.items()
    }
    return Response(
        {"code": exception.code, "say": exception.say(), **values}, status=exception.status
    )


class OperationView(DoorView):
    """A view that calls operations."""

    def get_exception_handler(self) -> Callable[[Exception, dict[str, Any]], Response | None]:
        return refusal_answer


class OfItemSerializer(Serializer):
    """A write on a box or a tray: `seq` numbers the last movement that the client has seen.

    409 (seq_stale) where another has come since.
    """

    seq = serializers.IntegerField(min_value=0, max_value=2**31 - 1)


def once(
    *, asks: type[BaseSerializer[Any]], gives: type[BaseSerializer[Any]]
) -> Callable[[Handler], Handler]:
    """The handler takes effect once a key.  400 without one, 422 where it stood for another body,
    409 where the same request still runs; 201 with what `gives` says.  So the schema has it."""
    answers = {201: gives} | dict.fromkeys((400, 404, 409, 422), ErrorSerializer)
    described = extend_schema(request=asks, responses=answers, parameters=[KEY])
    return lambda handler: described(_guarded(handler))


def _guarded(handler: Handler) -> Handler:
    @wraps(handler)
    def guarded(view: OperationView, request: Request, *args: Any, **kwargs: Any) -> Response:
        body = json.dumps([request.path, request.data], sort_keys=True, default=str).encode()

        def act() -> Answer:
            response = handler(view, request, *args, **kwargs)
            data = json.loads(JSONRenderer().render(response.data) or b"null")
            return {"status": response.status_code, "data": data}

        answer = take_once(Asked(view.person, request_key(request), body), act, wait=False)
        assert answer is not None
        return Response(answer["data"], status=answer["status"])

    return guarded


def request_key(request: Request) -> str:
    """The request's key: 1 to 64 visible ASCII characters.

    The draft writes it as a quoted string; bare ones are taken too.  KeyRefused (key_missing,
    key_invalid).
    """
    given = request.headers.get(HEADER)
    if given is None:
        raise KeyRefused("key_missing")
    quoted = re.fullmatch(r'"(.*)"', given.strip())
    key = quoted[1] if quoted else given.strip()
    if not re.fullmatch(rf"[!-~]{{1,{LONGEST}}}", key):
        raise KeyRefused("key_invalid")
    return key
