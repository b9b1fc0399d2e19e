"""A tray may not be used: a hole in its wrap, an instrument broken."""

from __future__ import annotations

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from deploy.kit.api_writes import OfItemSerializer, OperationView, once
from trays.access import tray_for
from trays.api.serializers import TraySerializer
from trays.hold_kinds import BY_A_PERSON, HoldKind
from trays.operations.holds import hold_for


class HoldSerializer(OfItemSerializer):
    """Why: of repair the tray goes to repair, of all else to quarantine.  `back_on`: when a repair
    should be back."""

    kind = serializers.ChoiceField(choices=[(kind.value, kind.value) for kind in BY_A_PERSON])
    note = serializers.CharField(max_length=80, required=False, default="", allow_blank=True)
    back_on = serializers.DateField(required=False, allow_null=True, default=None)


class Hold(OperationView):
    """Keep a tray from use."""

    door = ("trays.change_tray",)

    @once(asks=HoldSerializer, gives=TraySerializer)
    def post(self, request: Request, code: str) -> Response:
        """201 with the tray as it stands then; 409 where it has been moved since `seq`."""
        asked = HoldSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        said = asked.validated_data
        hold_for(
            tray=tray_for(self.person, code),
            by=self.person,
            now=self.person.site.now(),
            kind=HoldKind(said["kind"]),
            note=said["note"],
            back_on=said["back_on"],
            seq=said["seq"],
        )
        return Response(TraySerializer(tray_for(self.person, code)).data, status=201)
