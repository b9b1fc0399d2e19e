"""Pick lists in their versions, and scanning against one."""

from __future__ import annotations

from typing import Any

from django.db.models import Max
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from deploy.kit.api import DoorView, ErrorSerializer, SiteList
from deploy.kit.api_writes import OperationView, once
from scheduling.api.cases import READERS
from scheduling.api.pick_list_serializers import (
    PickListSerializer,
    ScanRequestSerializer,
    ScanSerializer,
    VersionSerializer,
)
from scheduling.models import PickList
from scheduling.operations.scans import scan
from scheduling.pick_lists.access import pick_lists_for, version_for
from scheduling.pick_lists.versions import newest_number


class PickLists(SiteList):
    """The pick lists that one may read: of cases, and of theatre days for those who read all."""

    door = READERS
    queryset = PickList.objects.none()
    serializer_class = PickListSerializer
    filters = {"code": "code", "case": "case__ref", "theatre": "theatre__code", "day": "day"}

    def get_queryset(self) -> Any:
        return (
            pick_lists_for(self.person)
            .select_related("case", "theatre")
            .annotate(newest=Max("versions__number"))
            .order_by("-pk")
        )


class OneVersion(DoorView):
    """One printed version of a list, with its lines and what is ticked."""

    door = READERS

    @extend_schema(responses={200: VersionSerializer, 404: ErrorSerializer})
    def get(self, request: Request, code: str, number: int) -> Response:
        version = version_for(self.person, code, number)
        newest = newest_number(version.pick_list)
        return Response(VersionSerializer(version, context={"newest": newest}).data)


class Scans(OperationView):
    """Scan a box or a tray against a list."""

    door = ("scheduling.scan_pick_list",)

    @once(asks=ScanRequestSerializer, gives=ScanSerializer)
    def post(self, request: Request, code: str) -> Response:
        """201 with the answer, which may be STOP, and with the first answer for a repeat; 400
        without a usable key or body; 409 while the same request runs; 422 where the key stood for
        another scan.
        """
        asked = ScanRequestSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        made = scan(
            version=version_for(self.person, code, asked.validated_data["version"]),
            text=asked.validated_data["text"],
            by=self.person,
            now=self.person.site.now(),
        )
        return Response(ScanSerializer(made).data, status=201)
