"""Suppliers and their terms, and what follows the use of a box, for the coordinator."""

from __future__ import annotations

from django.contrib import admin

from deploy.kit.site_admin import SiteAdmin, SiteInline
from implants.models import Supplier, SupplierClosedDate, UseRule


class UseRuleInline(SiteInline):
    """Only where it is not what is usual for the box's owner."""

    model = UseRule
    verbose_name_plural = "What follows a use, where it is not the usual"


class ClosedDateInline(SiteInline):
    model = SupplierClosedDate


@admin.register(Supplier)
class SupplierAdmin(SiteAdmin):
    list_display = ("name", "code", "account", "lead_days", "use_by_days")
    search_fields = ("code", "name")
    inlines = (ClosedDateInline,)
    fieldsets = (
        (None, {"fields": ("code", "name", "account", "contact")}),
        ("Terms", {"fields": ("lead_days", "cut_off_minute", "use_by_days")}),
    )
