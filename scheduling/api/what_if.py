"""What would be covered: a scenario is posted, its report is the answer, nothing is kept."""

from __future__ import annotations

from typing import IO, Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import APIException
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response

from deploy.kit.api import ErrorSerializer
from deploy.kit.api_writes import OperationView
from scheduling.api.cases import READERS
from scheduling.api.report_serializers import ReportSerializer
from scheduling.coverage.engine import decide
from scheduling.coverage.report_json import report_to_json
from scheduling.coverage.scenario_json import ScenarioFaults, read_scenario
from scheduling.errors import NotUsable

LARGEST = 5_000_000
"""Bytes of a scenario; the demonstration hospital is a twentieth of it."""


class TooLarge(APIException):
    status_code = 413
    default_code = "too_large"
    default_detail = f"A scenario has at most {LARGEST:,} bytes."


class ScenarioText(BaseParser):
    """JSON left as text: the scenario reader finds all faults with their places itself."""

    media_type = "application/json"

    def parse(  # type: ignore[override]  # a text, where the stubs expect a mapping
        self, stream: IO[Any], media_type: str | None = None, parser_context: Any = None
    ) -> str:
        body: bytes = stream.read(LARGEST + 1)
        if len(body) > LARGEST:
            raise TooLarge
        try:
            return body.decode()
        except UnicodeDecodeError as error:
            raise NotUsable("scenario_invalid", [f"byte {error.start}: not UTF-8"]) from None


class WhatIf(OperationView):
    """Decide a scenario (the format of the scenario files) without saving anything."""

    door = READERS
    parser_classes = (ScenarioText,)

    @extend_schema(
        request={"application/json": OpenApiTypes.OBJECT},
        responses={200: ReportSerializer, 400: ErrorSerializer, 413: ErrorSerializer},
    )
    def post(self, request: Request) -> Response:
        """400 with every fault and its place for a scenario that breaks the format."""
        try:
            scenario = read_scenario(str(request.data))
        except ScenarioFaults as error:
            raise NotUsable("scenario_invalid", error.faults) from None
        return Response(report_to_json(decide(scenario), scenario))
