"""Instruments, configurations with their count sheets, trays and machines, for the coordinator."""

from __future__ import annotations

from django.contrib import admin

from deploy.kit.catalogue_admin import ATTRIBUTE_FIELDS, CatalogueAdmin
from deploy.kit.site_admin import SiteAdmin
from trays.admin_pages.configurations import ConfigurationAdmin
from trays.admin_pages.trays import TrayAdmin
from trays.models import Configuration, Instrument, Machine, SterileSettings, Tray

admin.site.register(Configuration, ConfigurationAdmin)
admin.site.register(Tray, TrayAdmin)


@admin.register(Instrument)
class InstrumentAdmin(CatalogueAdmin):
    fieldsets = ((None, {"fields": ("ref", "role", "name", "refilled")}), ATTRIBUTE_FIELDS)


@admin.register(Machine)
class MachineAdmin(SiteAdmin):
    list_display = ("code", "kind", "places", "cycle_minutes", "down_reason")
    fields = ("code", "kind", "places", "cycle_minutes")


@admin.register(SterileSettings)
class SterileSettingsAdmin(SiteAdmin):
    fields = ("two_initials", "weight_limit_grams", "sterile_days")
