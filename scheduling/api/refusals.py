"""Refusals of the operations as answers of the API: the same codes and sentences as the pages."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from rest_framework.response import Response

from deploy.kit.api import DoorView, error_answer
from deploy.kit.errors import Refused


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
