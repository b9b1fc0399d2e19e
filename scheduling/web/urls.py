from __future__ import annotations

from datetime import date

from django.urls import path, register_converter

from scheduling.web import views


class DayConverter:
    """`2027-03-01`; anything that is no day of the calendar leads nowhere."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> date:
        day = date.fromisoformat(value)
        if not 1970 <= day.year < 2200:
            raise ValueError("no day on which this house operates")
        return day

    def to_url(self, value: date) -> str:
        return value.isoformat()


register_converter(DayConverter, "day")

urlpatterns = [
    path("", views.home, name="home"),
    path("cases/", views.cases, name="cases"),
    path("cases/<int:pk>/", views.case, name="case"),
    path("days/", views.today, name="today"),
    path("days/<day:day>/", views.day, name="day"),
]
