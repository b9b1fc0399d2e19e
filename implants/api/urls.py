from __future__ import annotations

from django.urls import path

from implants.api.quarantine import Quarantine
from implants.api.views import Implants, Units

urlpatterns = [
    path("implants/", Implants.as_view(), name="api_implants"),
    path("units/", Units.as_view(), name="api_units"),
    path("units/<path:code>/quarantine/", Quarantine.as_view(), name="api_unit_quarantine"),
]
