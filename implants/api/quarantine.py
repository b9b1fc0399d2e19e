"""A box may not be used: dropped, wet, in doubt."""

from __future__ import annotations

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from deploy.kit.api_writes import OfItemSerializer, OperationView, once
from implants.access import unit_for
from implants.api.serializers import UnitSerializer
from implants.operations.holds import quarantine


class QuarantineSerializer(OfItemSerializer):
    """Why the box may not be used."""

    reason = serializers.CharField(max_length=120)


class Quarantine(OperationView):
    """Keep a box from use."""

    door = ("implants.change_unit",)

    @once(asks=QuarantineSerializer, gives=UnitSerializer)
    def post(self, request: Request, code: str) -> Response:
        """201 with the box as it stands then; 409 where it has been moved since `seq`, or cannot
        be put in quarantine."""
        asked = QuarantineSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        unit = quarantine(
            unit=unit_for(self.person, code),
            by=self.person,
            now=self.person.site.now(),
            **asked.validated_data,
        )
        return Response(UnitSerializer(unit).data, status=201)
