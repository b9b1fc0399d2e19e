from __future__ import annotations

from typing import Any

from deploy.kit.api import SiteList
from trays.access import configurations_for, instruments_for, trays_for
from trays.api.serializers import ConfigurationSerializer, InstrumentSerializer, TraySerializer
from trays.models import Configuration, Instrument, Tray


class Instruments(SiteList):
    """The instrument catalogue of the site."""

    door = ("trays.read_trays",)
    queryset = Instrument.objects.none()
    serializer_class = InstrumentSerializer
    filters = {"ref": "ref", "role": "role", "system": "attributes__system"}

    def get_queryset(self) -> Any:
        return instruments_for(self.person)


class Configurations(SiteList):
    """The kinds of tray, each with the count sheet in force."""

    door = ("trays.read_trays",)
    queryset = Configuration.objects.none()
    serializer_class = ConfigurationSerializer
    filters = {"code": "code", "kind": "kind"}

    def get_queryset(self) -> Any:
        return configurations_for(self.person)


class Trays(SiteList):
    """The trays: where each stands in its cycle, and what it lacks."""

    door = ("trays.read_trays",)
    queryset = Tray.objects.none()
    serializer_class = TraySerializer
    filters = {
        "code": "code",
        "asset": "asset",
        "configuration": "configuration__code",
        "stage": "stage",
        "location": "location",
    }

    def get_queryset(self) -> Any:
        return trays_for(self.person)
