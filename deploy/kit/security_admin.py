"""The security log, to read; and the acts that take two people, to confirm."""

from __future__ import annotations

from typing import Any

from django.contrib import admin, messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from deploy.kit.models import Proposal, SecurityEvent
from deploy.kit.signed_act import NotSigned, sign
from deploy.kit.site_admin import ModelAdmin
from deploy.kit.two_people import TwoPeopleError, confirm, withdraw


@admin.register(SecurityEvent)
class SecurityEventAdmin(ModelAdmin):
    """To read only, whatever the permissions say."""

    list_display = ("at", "what", "outcome", "who", "about", "address", "detail")
    list_filter = ("what", "outcome", "at")
    list_select_related = ("who", "about")
    search_fields = ("who__username", "about__username", "detail")
    show_full_result_count = False

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(Proposal)
class ProposalAdmin(ModelAdmin):
    """One button confirms, signed by who presses it, one withdraws; nothing else can be changed."""

    list_display = ("said", "act", "by", "at", "state", "confirmed_by")
    list_select_related = ("by", "confirmed_by")
    fields = readonly_fields = (
        *("said", "act", "by", "at", "expires_at"),
        *("state", "closed_at", "confirmed_by"),
    )

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    @admin.display
    def state(self, proposal: Proposal) -> str:
        return proposal.state(timezone.now())

    def changeform_view(
        self, request: HttpRequest, object_id: Any = None, *args: Any, **kwargs: Any
    ) -> Any:
        proposal = self.get_object(request, object_id or "")
        if request.method != "POST" or proposal is None:
            return super().changeform_view(request, object_id, *args, **kwargs)
        return self._close(request, proposal)

    def _close(self, request: HttpRequest, proposal: Proposal) -> HttpResponse:
        try:
            if "_withdraw" in request.POST:
                withdraw(proposal, by=request.user, now=timezone.now())
                done = "Withdrawn"
            else:
                sign(request, act=f"confirm proposal {proposal.pk}")
                confirm(proposal, by=request.user, now=timezone.now())
                done = "Confirmed"
        except NotSigned as refusal:
            messages.error(request, f"Nothing was done. {refusal.say()}")
            return redirect("admin:kit_proposal_change", proposal.pk)
        except TwoPeopleError as refusal:
            messages.error(request, f"Nothing was done. {refusal.say}")
        else:
            messages.success(request, f"{done}. {proposal}")
        return redirect("admin:kit_proposal_changelist")
