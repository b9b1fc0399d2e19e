"""The implant catalogue and the shelf, for the coordinator."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from deploy.kit.catalogue_admin import ATTRIBUTE_FIELDS, CatalogueAdmin
from deploy.kit.site_admin import SiteAdmin, SiteForm
from implants.models import Implant, Unit


@admin.register(Implant)
class ImplantAdmin(CatalogueAdmin):
    list_display = ("ref", "in_words", "name", "maker", "lead_days", "replaced_on_use")
    list_filter = (*CatalogueAdmin.list_filter, "maker", "replaced_on_use")
    search_fields = ("ref", "name", "role", "gtin")
    fieldsets = (
        (None, {"fields": ("ref", "role", "name", "maker", "gtin")}),
        ATTRIBUTE_FIELDS,
        ("Supply", {"fields": ("lead_days", "replaced_on_use")}),
    )


class UnitForm(SiteForm):
    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        if cleaned.get("expiry") and cleaned.get("does_not_expire"):
            self.add_error("expiry", "leave the date empty, or untick “does not expire”")
        if not (cleaned.get("expiry") or cleaned.get("does_not_expire") or self.errors):
            self.add_error("expiry", "the use-by date, or tick “does not expire”")
        return cleaned

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        # Said above in words; the constraint's own name tells a person nothing.
        if "expiry" in self.errors and "__all__" in self.errors:
            del self.errors["__all__"]


class OnHold(admin.SimpleListFilter):
    title = "hold"
    parameter_name = "hold"

    def lookups(self, request: HttpRequest, model_admin: Any) -> list[tuple[str, str]]:
        return [("yes", "on hold"), ("no", "not on hold")]

    def queryset(self, request: HttpRequest, queryset: Any) -> Any:
        if self.value() == "yes":
            return queryset.exclude(hold="")
        return queryset.filter(hold="") if self.value() == "no" else queryset


@admin.register(Unit)
class UnitAdmin(SiteAdmin):
    form = UnitForm
    list_display = ("code", "what", "lot", "serial", "use_by", "location", "owner", "state")
    list_filter = (OnHold, "owner", "implant__role", "does_not_expire")
    list_select_related = ("implant", "site")
    search_fields = ("code", "lot", "serial", "implant__ref", "location")
    date_hierarchy = "expiry"
    autocomplete_fields = ("implant",)
    fieldsets = (
        (None, {"fields": ("code", "implant", ("lot", "serial"))}),
        ("Use by", {"fields": ("expiry", "does_not_expire")}),
        ("Where and whose", {"fields": ("location", "owner")}),
        (
            "Not on the shelf",
            {
                "fields": ("expected_at", "hold"),
                "description": "An expected box counts as on the shelf only when its receipt is "
                "recorded: empty the time then. A reason to hold it keeps it from every case.",
            },
        ),
    )

    @admin.display(description="implant", ordering="implant__ref")
    def what(self, unit: Unit) -> str:
        return str(unit.implant)

    @admin.display(description="use by", ordering="expiry")
    def use_by(self, unit: Unit) -> str:
        return f"{unit.expiry:%d %b %Y}" if unit.expiry else "does not expire"

    @admin.display(description="state")
    def state(self, unit: Unit) -> str:
        if unit.hold:
            return f"on hold: {unit.hold}"
        if unit.expected_at:
            return f"expected {unit.site.local(unit.expected_at):%a %d %b %H:%M}"
        return "on the shelf"
