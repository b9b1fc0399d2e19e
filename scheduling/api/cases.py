"""Cases with their verdicts, and the coverage of one with its reasons."""

from __future__ import annotations

from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import F, OuterRef, Prefetch, QuerySet, Subquery
from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.generics import RetrieveAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from deploy.kit.api import DoorView, ErrorSerializer, Pages, SiteList, moment
from scheduling.access import case_for, cases_for
from scheduling.api.case_serializers import CaseSerializer
from scheduling.api.report_serializers import CaseCoverageSerializer
from scheduling.coverage.report_json import case_report_json
from scheduling.models import Case, PlanVersion, TrayReservation, UnitReservation
from scheduling.queries import Coverage, coverage_now

READERS = ("scheduling.read_cases", "scheduling.read_own_cases")


def with_plans(cases: QuerySet[Case]) -> QuerySet[Case]:
    """Each with `in_force` (its plan, a list of one or none), `live_units`, `live_trays`.

    Five queries: cases, plans, confirmations, boxes, trays.
    """
    newest = PlanVersion.objects.filter(case=OuterRef("case")).order_by("-number")
    in_force = (
        PlanVersion.objects.alias(newest=Subquery(newest.values("number")[:1]))
        .filter(number=F("newest"))
        .select_related("technique")
        .prefetch_related("confirmed")
    )
    units = UnitReservation.objects.filter(freed_at=None).select_related("unit")
    trays = TrayReservation.objects.filter(freed_at=None).select_related("tray")
    return cases.prefetch_related(
        Prefetch("plans", in_force, to_attr="in_force"),
        Prefetch("unit_reservations", units.order_by("unit__code"), to_attr="live_units"),
        Prefetch("tray_reservations", trays.order_by("tray__code"), to_attr="live_trays"),
    )


class CasePages(Pages):
    """A page says at which moment its verdicts hold."""

    def get_paginated_response(self, data: Any) -> Response:
        response = super().get_paginated_response(data)
        response.data["as_of"] = self.request.parser_context["view"].coverage.report.now  # type: ignore[union-attr]
        return response

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        page: dict[str, Any] = super().get_paginated_response_schema(schema)
        page["properties"]["as_of"] = {"type": "string", "format": "date-time"}
        page["required"] = [*page["required"], "as_of"]
        return page


class _Judged(DoorView):
    """A view with the coverage of the whole site, decided once."""

    door = READERS

    @cached_property
    def coverage(self) -> Coverage:
        return coverage_now(self.person.site)

    def get_serializer_context(self) -> dict[str, Any]:
        context: dict[str, Any] = super().get_serializer_context()  # type: ignore[misc]
        if not getattr(self, "swagger_fake_view", False):
            context["verdicts"] = {
                case.case: case.verdict.value for case in self.coverage.report.cases
            }
        return context


class Cases(_Judged, SiteList):
    """The cases that one may read, in time order, each with its verdict; own ones for a surgeon."""

    queryset = Case.objects.none()
    serializer_class = CaseSerializer
    pagination_class = CasePages
    filters = {
        "ref": "ref",
        "status": "status",
        "theatre": "theatre__code",
        "surgeon": "surgeon__name",
        "start_from": ("start__gte", moment),
        "start_before": ("start__lt", moment),
    }

    def get_queryset(self) -> Any:
        return with_plans(cases_for(self.person))


class OneCase(_Judged, RetrieveAPIView):  # type: ignore[type-arg]
    """One case with its plan, its reservations and its verdict."""

    queryset = Case.objects.none()
    serializer_class = CaseSerializer

    def get_object(self) -> Case:
        case_for(self.person, self.kwargs["pk"])
        return with_plans(cases_for(self.person)).get(pk=self.kwargs["pk"])


class CaseCoverage(_Judged):
    """What the case holds, what it does not, and why."""

    @extend_schema(responses={200: CaseCoverageSerializer, 404: ErrorSerializer})
    def get(self, request: Request, pk: int) -> Response:
        """404 also for a case that has ended or was cancelled: it needs nothing any more."""
        case = case_for(self.person, pk)
        try:
            report = self.coverage.report.case(case.ref)
        except KeyError:
            raise Http404("the case is over") from None
        zone = ZoneInfo(self.coverage.scenario.site.timezone)
        return Response({**case_report_json(report, zone), "as_of": self.coverage.report.now})
