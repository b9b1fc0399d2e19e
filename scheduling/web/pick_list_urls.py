"""Pick lists, the pages behind printed codes, and scanning."""

from __future__ import annotations

from django.urls import path

import scheduling.web.urls  # noqa: F401  It registers the `day` converter that is used here.
from scheduling.web import items, pick_lists, scans

urlpatterns = [
    path("pick-lists/case/<int:pk>/", pick_lists.for_case, name="pick_list_for_case"),
    path(
        "pick-lists/day/<int:theatre_pk>/<day:day>/", pick_lists.for_day, name="pick_list_for_day"
    ),
    path("l/<str:code>/<int:number>/", pick_lists.version, name="pick_list_version"),
    path("l/<str:code>/<int:number>/print/", pick_lists.print_view, name="pick_list_print"),
    path("l/<str:code>/<int:number>/pick-list.pdf", pick_lists.pdf, name="pick_list_pdf"),
    path("scan/", scans.choose, name="scan"),
    path("scan/<str:code>/", scans.scan_list, name="scan_list"),
    path("01/<path:rest>", items.implant_link, name="implant_link"),
    path("8004/<path:giai>", items.tray_link, name="tray_link"),
    path("u/<path:code>", items.house_link, name="house_link"),
]
