"""Site and people, for the administrator."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from deploy.kit.models import Person, Site
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

    @admin.display(description="clock")
    def clock(self, site: Site) -> str:
        return "real" if site.clock_is_real else f"set to {site.local(site.now()):%d %b %Y %H:%M}"


@admin.register(Person)
class PersonAdmin(ModelAdmin):
    list_display = ("__str__", "user", "roles", "site")
    list_filter = ("site", "user__groups")
    search_fields = ("user__username", "user__first_name", "user__last_name")
    autocomplete_fields = ("user",)

    def get_queryset(self, request: HttpRequest) -> Any:
        return (
            super()
            .get_queryset(request)
            .select_related("user", "site")
            .prefetch_related("user__groups")
        )

    @admin.display(description="role")
    def roles(self, person: Person) -> str:
        return ", ".join(group.name for group in person.user.groups.all())
