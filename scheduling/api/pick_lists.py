"""Pick lists in their versions, and scanning against one."""

from __future__ import annotations

from typing import Any

from django.db.models import Max, Q
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from deploy.kit.api import DoorView, ErrorSerializer, SiteList
from deploy.kit.models import RequestKey
from deploy.kit.requests_once import HEADER, KeyInvalid, KeyMissing, request_key
from scheduling.access import cases_for
from scheduling.api.cases import READERS
from scheduling.api.pick_list_serializers import (
    PickListSerializer,
    ScanRequestSerializer,
    ScanSerializer,
    VersionSerializer,
)
from scheduling.api.refusals import OperationView
from scheduling.errors import Refused
from scheduling.models import PickList
from scheduling.operations.scans import scan
from scheduling.pick_lists.access import version_for
from scheduling.pick_lists.versions import newest_version


class PickLists(SiteList):
    """The pick lists that one may read: of cases, and of theatre days for those who read all."""

    door = READERS
    queryset = PickList.objects.none()
    serializer_class = PickListSerializer
    filters = {"code": "code", "case": "case__ref", "theatre": "theatre__code", "day": "day"}

    def get_queryset(self) -> Any:
        theirs = Q(case__in=cases_for(self.person).values("pk"))
        if self.person.user.has_perm("scheduling.read_cases"):
            theirs |= Q(case=None)
        return (
            PickList.objects.filter(theirs, site=self.person.site)
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
        newest = newest_version(version.pick_list).number
        return Response(VersionSerializer(version, context={"newest": newest}).data)


class Scans(OperationView):
    """Scan a box or a tray against a list."""

    door = ("scheduling.scan_pick_list",)

    @extend_schema(
        request=ScanRequestSerializer,
        responses={
            201: ScanSerializer,
            200: ScanSerializer,
            400: ErrorSerializer,
            404: ErrorSerializer,
            422: ErrorSerializer,
        },
        parameters=[
            OpenApiParameter(
                HEADER,
                OpenApiTypes.STR,
                OpenApiParameter.HEADER,
                required=True,
                description="1 to 64 visible characters, new for each scan.  A repeat with the "
                "same key and the same body gives the first answer again.",
            )
        ],
    )
    def post(self, request: Request, code: str) -> Response:
        """201 with the answer, which may be STOP; 200 with the first answer for a repeat; 400
        without a usable key or body; 422 where the key stood for another scan.
        """
        key = self._key(request)
        asked = ScanRequestSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        version = version_for(self.person, code, asked.validated_data["version"])
        is_repeat = RequestKey.objects.filter(person=self.person, key=key).exists()
        made = scan(
            version=version,
            text=asked.validated_data["text"],
            by=self.person,
            now=self.person.site.now(),
            request_key=key,
        )
        return Response(ScanSerializer(made).data, status=200 if is_repeat else 201)

    def _key(self, request: Request) -> str:
        try:
            return request_key(request)
        except KeyMissing:
            raise BadKey("key_missing") from None
        except KeyInvalid:
            raise BadKey("key_invalid") from None


class BadKey(Refused):
    status = 400
