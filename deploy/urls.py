from __future__ import annotations

from django.contrib import admin
from django.urls import include, path

from deploy.web import LogIn, LogOut, health
from deploy.web_accounts import first_run, your_pin
from deploy.web_sessions import here, lock_now, locked, switch

handler400 = "deploy.web.not_understood"
handler404 = "deploy.web.not_found"

urlpatterns = [
    path("log-in/", LogIn.as_view(), name="login"),
    path("log-out/", LogOut.as_view(), name="logout"),
    path("lock/", lock_now, name="lock"),
    path("locked/", locked, name="locked"),
    path("switch/", switch, name="switch"),
    path("here/", here, name="here"),
    path("first-run/", first_run, name="first_run"),
    path("your-pin/", your_pin, name="your_pin"),
    path("health/", health, name="health"),
    path("", include("scheduling.web.urls")),
    path("", include("scheduling.web.pick_list_urls")),
    path("", include("scheduling.web.theatre.urls")),
    path("", include("scheduling.web.tracing.urls")),
    path("", include("implants.web.order_urls")),
    path("", include("scheduling.web.ordering.urls")),
    path("", include("scheduling.web.loans.urls")),
    path("", include("scheduling.web.sterile.urls")),
    path("", include("scheduling.web.workbooks.urls")),
    path("", include("implants.web.urls")),
    path("", include("scheduling.web.recalls.urls")),
    path("", include("scheduling.web.alerts.urls")),
    path("", include("scheduling.web.shelf_pages.urls")),
    path("", include("scheduling.web.labels.urls")),
    path("", include("scheduling.web.planning.urls")),
    path("api/", include("scheduling.api.urls")),
    # One log-in page, with its throttle: the admin's own has none.
    path("admin/login/", LogIn.as_view(), name="admin_login"),
    path("admin/", admin.site.urls),
]
