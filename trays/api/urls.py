from __future__ import annotations

from django.urls import path

from trays.api.hold import Hold
from trays.api.views import Configurations, Instruments, Trays

urlpatterns = [
    path("instruments/", Instruments.as_view(), name="api_instruments"),
    path("configurations/", Configurations.as_view(), name="api_configurations"),
    path("trays/", Trays.as_view(), name="api_trays"),
    path("trays/<path:code>/hold/", Hold.as_view(), name="api_tray_hold"),
]
