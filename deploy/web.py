"""The pages that belong to no part: log-in, log-out, and the machines' health page."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib.auth.views import LoginView, LogoutView
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from deploy.kit.doors import OPEN, open_to_all
from scheduling.demo_people import DEMO_PASSWORD, demo_people


class LogIn(LoginView):
    """The names of accounts, and their password, are shown in the demonstration only."""

    door = OPEN
    template_name = "log_in.html"
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        if settings.DEMO:
            context["demo_people"] = demo_people()
            context["demo_password"] = DEMO_PASSWORD
        return context


class LogOut(LogoutView):
    """By POST only, so that no link or image can log anybody out."""

    door = OPEN


@open_to_all
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """For machines: `ok` when the database answers.  One query; a database error is a 500."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchone()
    return HttpResponse("ok\n", content_type="text/plain")
