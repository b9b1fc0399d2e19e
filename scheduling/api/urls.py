"""The REST API.  Its schema is `fixtures/api-schema.yml`; `/api/` is a page to try it on."""

from __future__ import annotations

from django.urls import include, path

from scheduling.api.cases import CaseCoverage, Cases, OneCase
from scheduling.api.docs import Docs, Schema
from scheduling.api.pick_lists import OneVersion, PickLists, Scans
from scheduling.api.what_if import WhatIf

urlpatterns = [
    path("", Docs.as_view(), name="api_docs"),
    path("schema/", Schema.as_view(), name="api_schema"),
    path("", include("implants.api.urls")),
    path("", include("trays.api.urls")),
    path("cases/", Cases.as_view(), name="api_cases"),
    path("cases/<int:pk>/", OneCase.as_view(), name="api_case"),
    path("cases/<int:pk>/coverage/", CaseCoverage.as_view(), name="api_case_coverage"),
    path("what-if/", WhatIf.as_view(), name="api_what_if"),
    path("pick-lists/", PickLists.as_view(), name="api_pick_lists"),
    path(
        "pick-lists/<str:code>/versions/<int:number>/",
        OneVersion.as_view(),
        name="api_pick_list_version",
    ),
    path("pick-lists/<str:code>/scans/", Scans.as_view(), name="api_scans"),
]
