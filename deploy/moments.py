"""Moments of the real clock in words, for people without a place of work too."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from deploy.kit.models import Site


def when(moment: datetime) -> str:
    """`14:05`, as the house's clocks show it; with its zone where there is not one house alone."""
    zones = list(Site.objects.values_list("timezone", flat=True).distinct()[:2])
    local = moment.astimezone(ZoneInfo(zones[0] if len(zones) == 1 else "UTC"))
    return f"{local:%H:%M}" + ("" if len(zones) == 1 else " UTC")
