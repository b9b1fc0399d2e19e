from __future__ import annotations

from django.urls import path

from scheduling.web.theatre import acts, pages

urlpatterns = [
    path("theatre/", pages.choose, name="theatre"),
    path("theatre/<int:pk>/", pages.in_theatre_page, name="in_theatre"),
    path("theatre/<int:pk>/open/", acts.open_checked, name="theatre_open"),
    path("theatre/<int:pk>/record/", acts.record, name="theatre_record"),
    path("theatre/<int:pk>/start/", acts.start, name="theatre_start"),
    path("theatre/<int:pk>/end/", acts.end, name="theatre_end"),
]
