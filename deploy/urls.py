from __future__ import annotations

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("scheduling.web.urls")),
    path("", include("scheduling.web.pick_list_urls")),
    path("api/", include("scheduling.api.urls")),
    path("admin/", admin.site.urls),
]
