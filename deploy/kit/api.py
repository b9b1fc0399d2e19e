"""What the REST views of all apps share: the acting person, filters, pages, the form of errors.

An error is `{"code": ..., "say": ..., ...values}`: the code for machines, the sentence for people.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar

from django.core.exceptions import ValidationError as DjangoValidationError
from django.utils.dateparse import parse_datetime
from rest_framework import exceptions, generics, serializers
from rest_framework.filters import BaseFilterBackend
from rest_framework.pagination import PageNumberPagination
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView, exception_handler

from deploy.kit.doors import HasDoor, person_of
from deploy.kit.models import Person

if TYPE_CHECKING:
    _ListAPIView = generics.ListAPIView[Any]
    Serializer = serializers.Serializer[Any]
    ModelSerializer = serializers.ModelSerializer[Any]
else:  # generic for the type checker only
    _ListAPIView = generics.ListAPIView
    Serializer = serializers.Serializer
    ModelSerializer = serializers.ModelSerializer


class ErrorSerializer(Serializer):
    """Why a request was not done: a code, and a sentence with its values in it."""

    code = serializers.CharField()
    say = serializers.CharField()


class NotUsable(exceptions.APIException):
    """400: what was sent breaks its own rules; `faults` lists all of them."""

    status_code = 400
    default_code = "invalid"

    def __init__(self, faults: list[str]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


def error_answer(exception: Exception, context: dict[str, Any]) -> Response | None:
    """The answer to an exception, or None for a crash (a 500, told to nobody but the log)."""
    response = exception_handler(exception, context)
    if response is None:
        return None
    if isinstance(exception, exceptions.ValidationError):
        faults = [f"{key}: {one}" for key, found in exception.detail.items() for one in found]  # type: ignore[union-attr]
        response.data = {"code": "invalid", "say": "; ".join(faults), "faults": faults}
        return response
    detail = response.data["detail"]
    response.data = {"code": detail.code, "say": str(detail)}
    if isinstance(exception, NotUsable):
        response.data["faults"] = exception.faults
    return response


class DoorView(APIView):
    """A view behind a door, for people who have a place of work."""

    door: ClassVar[tuple[str, ...]]
    permission_classes = (HasDoor,)
    # The framework's own pages have inline scripts, which the content policy forbids.
    renderer_classes: Any = (JSONRenderer,)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        _ = self.person  # refuses an account without a place of work

    @cached_property
    def person(self) -> Person:
        """Who acts."""
        return person_of(self.request)

    def get_exception_handler(self) -> Callable[[Exception, dict[str, Any]], Response | None]:
        return error_answer


class Pages(PageNumberPagination):
    """`?page=2&page_size=500`; at most 500 rows a page."""

    page_size = 100
    page_size_query_param = "page_size"
    max_page_size = 500


Filter = str | tuple[str, Callable[[str], Any]]
"""A lookup, or a lookup and what reads its value (ValueError where it cannot)."""


def moment(text: str) -> datetime:
    """A moment that says its offset; ValueError for anything else."""
    read = parse_datetime(text)
    if read is None or read.tzinfo is None:
        raise ValueError("not a moment with its offset, such as 2027-03-02T08:30Z")
    return read


class ByQuery(BaseFilterBackend):
    """`?name=value` for each name in the view's `filters`.

    A name that is not known is refused: a misspelt filter must not look like a full answer.
    """

    OTHERS = ("page", "page_size", "format")

    def filter_queryset(self, request: Any, queryset: Any, view: Any) -> Any:
        faults = []
        for name, text in request.query_params.items():
            if name in self.OTHERS:
                continue
            try:
                queryset = queryset.filter(**_wanted(view.filters, name, text))
            except DjangoValidationError as error:
                faults += [f"{name}: {fault}" for fault in error.messages]
            except ValueError as error:
                faults.append(f"{name}: {error}")
        if faults:
            raise NotUsable(faults)
        return queryset

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        return [
            {"name": name, "in": "query", "required": False, "schema": {"type": "string"}}
            for name in view.filters
        ]


def _wanted(filters: Mapping[str, Filter], name: str, text: str) -> dict[str, Any]:
    if name not in filters:
        raise ValueError(f"unknown (known: {', '.join([*filters, 'page', 'page_size'])})")
    if "\0" in text:
        raise ValueError("holds a character that is no text")
    asked = filters[name]
    return {asked: text} if isinstance(asked, str) else {asked[0]: asked[1](text)}


class SiteList(DoorView, _ListAPIView):
    """A list of one's own site's rows, in pages, with simple filters."""

    filters: ClassVar[Mapping[str, Filter]] = {}
    filter_backends = (ByQuery,)
    pagination_class = Pages
