"""The site, for the administrator.  People and the security log have files of their own."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.contrib import admin
from django.http import HttpRequest

from deploy.kit import people_admin, security_admin  # noqa: F401  They register their pages.
from deploy.kit.models import Site
from deploy.kit.site_admin import ModelAdmin, ModelForm

admin.site.site_header = "Muster: catalogue and settings"
admin.site.site_title = "Muster"
admin.site.enable_nav_sidebar = False  # the lists and the techniques need the width
admin.site.index_title = "What the house works with"


class SitesForm(ModelForm):
    address = forms.URLField(
        assume_scheme="https",
        help_text="The address that printed codes open, without a slash at the end.",
    )

    def clean_address(self) -> str:
        return str(self.cleaned_data["address"]).rstrip("/")


@admin.register(Site)
class SitesAdmin(ModelAdmin):
    form = SitesForm
    list_display = ("name", "code", "timezone", "address", "clock")
    fieldsets = (
        (None, {"fields": ("name", "code", "timezone", "address", "asset_prefix")}),
        (
            "Clock of a demonstration",
            {
                "fields": ("clock_set_to", "clock_started"),
                "description": "Leave both empty on a real site. Times here are UTC.",
                "classes": ("collapse",),
            },
        ),
    )

    def get_fieldsets(self, request: HttpRequest, obj: Any = None) -> Any:
        """The clock of a real site can't be set."""
        shown = super().get_fieldsets(request, obj)
        return shown if settings.DEMO else shown[:1]

    @admin.display(description="clock")
    def clock(self, site: Site) -> str:
        return "real" if site.clock_is_real else f"set to {site.local(site.now()):%d %b %Y %H:%M}"
