from __future__ import annotations

from django.contrib import admin
from django.urls import include, path

from deploy.web import LogIn, LogOut, health

urlpatterns = [
    path("log-in/", LogIn.as_view(), name="login"),
    path("log-out/", LogOut.as_view(), name="logout"),
    path("health/", health, name="health"),
    path("", include("scheduling.web.urls")),
    path("", include("scheduling.web.pick_list_urls")),
    path("", include("implants.web.order_urls")),
    path("", include("scheduling.web.ordering.urls")),
    path("", include("scheduling.web.workbooks.urls")),
    path("", include("implants.web.urls")),
    path("", include("scheduling.web.recalls.urls")),
    path("api/", include("scheduling.api.urls")),
    path("admin/", admin.site.urls),
]
