"""A tray may not be used: a hole in its wrap, an instrument broken."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from deploy.kit.api import ErrorSerializer
from deploy.kit.api_writes import KEY, OfItemSerializer, OperationView, once
from trays.access import tray_for
from trays.api.serializers import TraySerializer
from trays.ledger import ON_HOLD
from trays.operations.moves import hold_tray
from trays.stages import Stage


class HoldSerializer(OfItemSerializer):
    """Why, and whether it is in quarantine or in repair."""

    stage = serializers.ChoiceField(choices=[(stage.value, stage.value) for stage in ON_HOLD])
    reason = serializers.CharField(max_length=120)


class Hold(OperationView):
    """Keep a tray from use."""

    door = ("trays.change_tray",)

    @extend_schema(
        request=HoldSerializer,
        responses={
            201: TraySerializer,
            400: ErrorSerializer,
            404: ErrorSerializer,
            409: ErrorSerializer,
            422: ErrorSerializer,
        },
        parameters=[KEY],
    )
    @once
    def post(self, request: Request, code: str) -> Response:
        """201 with the tray as it stands then; 409 where it has been moved since `seq`."""
        asked = HoldSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        hold_tray(
            tray=tray_for(self.person, code),
            by=self.person,
            now=self.person.site.now(),
            reason=asked.validated_data["reason"],
            stage=Stage(asked.validated_data["stage"]),
            seq=asked.validated_data["seq"],
        )
        return Response(TraySerializer(tray_for(self.person, code)).data, status=201)
