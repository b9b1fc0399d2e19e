from __future__ import annotations

from typing import Any

from deploy.kit.api import SiteList
from implants.access import implants_for, units_for
from implants.api.serializers import ImplantSerializer, UnitSerializer
from implants.models import Implant, Unit


class Implants(SiteList):
    """The implant catalogue of the site."""

    door = ("implants.read_shelf",)
    queryset = Implant.objects.none()
    serializer_class = ImplantSerializer
    filters = {
        "ref": "ref",
        "role": "role",
        "gtin": "gtin",
        "system": "attributes__system",
        "offset": "attributes__offset",
    }

    def get_queryset(self) -> Any:
        return implants_for(self.person)


class Units(SiteList):
    """Every box: expected, in the house, or gone; its `state` says which."""

    door = ("implants.read_shelf",)
    queryset = Unit.objects.none()
    serializer_class = UnitSerializer
    filters = {
        "code": "code",
        "implant": "implant__ref",
        "role": "implant__role",
        "lot": "lot",
        "serial": "serial",
        "location": "location",
        "owner": "owner",
        "hold": "hold",
        "state": "state",
    }

    def get_queryset(self) -> Any:
        return units_for(self.person)
