from __future__ import annotations

from django.urls import path

from scheduling.web.alerts import views

urlpatterns = [
    path("alerts/", views.alerts, name="alerts"),
    path("alerts/open/", views.open_now, name="alerts_open"),
    path("alerts/<int:pk>/", views.see_to, name="alert"),
]
