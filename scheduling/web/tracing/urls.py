from __future__ import annotations

from django.urls import path

from scheduling.web.tracing import pages

urlpatterns = [
    path("trace/", pages.trace_page, name="trace"),
    path("cases/<int:pk>/history/", pages.history, name="case_history"),
]
