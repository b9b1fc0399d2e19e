"""The pages that belong to no part: log-in, log-out, and the machines' health page."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib.auth.views import LoginView, LogoutView
from django.contrib.sessions.exceptions import SessionInterrupted
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import resolve_url
from django.template.loader import render_to_string
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from django.views.defaults import bad_request, page_not_found

from deploy.kit.address import address_of
from deploy.kit.api_or_page import goes_to_api
from deploy.kit.doors import OPEN, open_to_all
from deploy.kit.log_in_form import LogInForm
from deploy.kit.models import Person, Site, What
from deploy.kit.right_clock import believe_clock, what_clocks_say
from deploy.kit.security_log import record
from deploy.kit.session_limits import open_when_locked
from deploy.kit.sessions import LOCKED, only_looks
from deploy.moments import when
from scheduling.demonstration.people import DEMO_PASSWORD, DEMO_PIN, demo_people


@open_when_locked
class LogIn(LoginView):
    """The names of accounts, and their secrets, are shown in the demonstration only."""

    door = OPEN
    template_name = "log_in.html"
    authentication_form = LogInForm

    @property
    def redirect_authenticated_user(self) -> bool:  # type: ignore[override]
        """Whoever acts needs no log-in page; the next person at a locked or a looking one does."""
        return not (self.request.session.get(LOCKED) or only_looks(self.request))

    def get_default_redirect_url(self) -> str:
        """The first page; for an administrator without a place of work the admin."""
        user = self.request.user
        is_nowhere = user.is_staff and not Person.objects.filter(user_id=user.pk).exists()
        return resolve_url("admin:index") if is_nowhere else super().get_default_redirect_url()

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        if context["form"].is_bound and context["form"].until:
            context["try_again"] = when(context["form"].until)
        if settings.DEMO:
            context["demo_people"] = demo_people()
            context["demo_password"], context["demo_pin"] = DEMO_PASSWORD, DEMO_PIN
        return context


@open_when_locked
class LogOut(LogoutView):
    """By POST only, so that no link or image can log anybody out."""

    door = OPEN

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        if request.user.is_authenticated:
            record(What.LOG_OUT, who=request.user, address=address_of(request))
        return super().post(request, *args, **kwargs)


INTERRUPTED = (
    "The session was closed elsewhere, or the database could not be reached, before this was "
    "answered. It may be done or not: send the same request again."
)


def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A request that makes no sense; or one whose session could not be kept when all else was
    done (503): what it did stands, and nobody may read that nothing was changed."""
    if not isinstance(exception, SessionInterrupted):
        return bad_request(request, exception)
    if goes_to_api(request):
        return JsonResponse({"code": "interrupted", "say": INTERRUPTED}, status=503)
    # Without the request: its session is what failed.
    return HttpResponse(render_to_string("interrupted.html"), status=503)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """No such address: machines are told as the API tells everything, people by a page."""
    if request.path.startswith("/api/"):
        said = {"code": "not_found", "say": "There is nothing at this address."}
        return JsonResponse(said, status=404)
    return page_not_found(request, exception)


@open_to_all
@open_when_locked
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """For machines: `ok` when the database answers and the clock can be right (else 503).  One
    query; a database error is a 500."""
    site = Site.objects.annotate(**what_clocks_say()).first()
    if site is not None:
        believe_clock(site)
    return HttpResponse("ok\n", content_type="text/plain")
