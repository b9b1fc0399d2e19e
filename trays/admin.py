"""Instruments, configurations with their count sheets, and trays, for the coordinator."""

from __future__ import annotations

from django.contrib import admin

from deploy.kit.catalogue_admin import ATTRIBUTE_FIELDS, CatalogueAdmin
from trays.admin_pages.configurations import ConfigurationAdmin
from trays.admin_pages.trays import TrayAdmin
from trays.models import Configuration, Instrument, Tray

admin.site.register(Configuration, ConfigurationAdmin)
admin.site.register(Tray, TrayAdmin)


@admin.register(Instrument)
class InstrumentAdmin(CatalogueAdmin):
    fieldsets = ((None, {"fields": ("ref", "role", "name")}), ATTRIBUTE_FIELDS)
