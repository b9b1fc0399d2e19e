"""A surgeon's evening: plan, book, decide, and what they are told."""

from __future__ import annotations

from django.urls import path

import scheduling.web.urls  # noqa: F401  It registers the `day` converter that is used here.
from scheduling.web.planning import (
    bookings,
    calendar,
    decide,
    in_house,
    meeting,
    plans,
    windows,
    your_cases,
)

urlpatterns = [
    path("cases/<int:pk>/plan/", plans.plan, name="plan"),
    path("cases/<int:pk>/plan/preview/", plans.preview, name="plan_preview"),
    path("cases/<int:pk>/plans/", plans.versions, name="plan_versions"),
    path("cases/book/", bookings.book, name="book"),
    path("cases/<int:pk>/move/", bookings.move, name="move"),
    path("cases/<int:pk>/move/preview/", bookings.move_preview, name="move_preview"),
    path("cases/<int:pk>/cancel/", bookings.cancel, name="cancel"),
    path("cases/<int:pk>/decide/", decide.decide, name="decide"),
    path("cases/<int:pk>/answer/", decide.answer, name="answer"),
    path("cases/<int:pk>/on-it/", decide.on_it, name="on_it"),
    path("cases/<int:pk>/in-house/", in_house.in_house, name="in_house"),
    path("your-cases/", your_cases.your_cases, name="your_cases"),
    path("days/<day:day>/meeting/", meeting.meeting, name="meeting"),
    path("notices/", your_cases.notices, name="notices"),
    path("notices/seen/", your_cases.seen, name="notices_seen"),
    path("calendar/", calendar.address, name="calendar"),
    path("calendar/<str:token>.ics", calendar.feed, name="calendar_feed"),
    path("windows/", windows.own, name="windows"),
]
