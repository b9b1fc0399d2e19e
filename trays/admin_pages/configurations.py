"""A configuration and its count sheet."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.http import HttpRequest
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from deploy.kit.site_admin import SiteAdmin, SiteForm, Suggesting, site_of
from trays.count_sheets import CountSheetFaults, read_count_sheet, say_count_sheet
from trays.models import Configuration, ConfigurationVersion, Instrument
from trays.operations.count_sheets import contents_of, issue_count_sheet

KINDS = ("add-on", "base", "extraction", "power", "stand-alone", Configuration.SUPPLEMENTARY)


class ConfigurationForm(SiteForm):
    count_sheet = forms.CharField(
        widget=forms.Textarea({"rows": 24, "cols": 40, "spellcheck": "false"}),
        help_text="One instrument a line, in tray order: REF, or REF × 3. A change makes a new "
        "version; trays stay with the version to which they were last assembled.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kind"].widget = Suggesting(KINDS)
        if self.instance.pk and (version := in_force(self.instance)):
            self.initial["count_sheet"] = say_count_sheet(dict(contents_of(version)))

    def clean_count_sheet(self) -> dict[str, int]:
        known = Instrument.objects.filter(site=self.at_site).values_list("ref", flat=True)
        try:
            return read_count_sheet(self.cleaned_data["count_sheet"], set(known))
        except CountSheetFaults as error:
            raise forms.ValidationError(error.faults) from None

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        turnaround, fast = cleaned.get("turnaround_minutes"), cleaned.get("fast_track_minutes")
        if turnaround is not None and turnaround < 1:
            self.add_error("turnaround_minutes", "1 or more")
        elif turnaround is not None and fast is not None and fast > turnaround:
            self.add_error("fast_track_minutes", "not more than the standard turnaround")
        sheet = cleaned.get("count_sheet")
        if cleaned.get("kind") == Configuration.SUPPLEMENTARY and sheet and len(sheet) > 1:
            self.add_error("count_sheet", "a supplementary pack holds a single instrument")
        return cleaned


def in_force(configuration: Configuration) -> ConfigurationVersion | None:
    return configuration.versions.order_by("-number").first()


class ConfigurationAdmin(SiteAdmin):
    form = ConfigurationForm
    list_display = ("code", "name", "kind", "turnaround_minutes", "fast_track_minutes")
    list_filter = ("kind",)
    search_fields = ("code", "name")
    readonly_fields = ("sheet_in_words", "versions_so_far")
    fieldsets = (
        (None, {"fields": ("code", "name", "kind")}),
        (
            "Turnaround",
            {
                "fields": (("turnaround_minutes", "fast_track_minutes"),),
                "description": "In minutes of sterile services' opening time. Leave the fast "
                "track empty where there is none.",
            },
        ),
        ("Count sheet", {"fields": ("count_sheet", "sheet_in_words", "versions_so_far")}),
    )

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        issue_count_sheet(
            configuration=obj,
            contents=form.cleaned_data["count_sheet"],
            by=request.user,  # type: ignore[arg-type]
            now=site_of(request).now(),
        )

    @admin.display(description="in words")
    def sheet_in_words(self, configuration: Configuration) -> SafeString | str:
        version = in_force(configuration) if configuration.pk else None
        if version is None:
            return "Saved first, then said here in words."
        lines = version.contents.select_related("instrument")
        return format_html(
            "<ol>{}</ol>",
            format_html_join(
                "",
                "<li>{} × {}</li>",
                ((line.quantity, str(line.instrument)) for line in lines),
            ),
        )

    @admin.display(description="versions")
    def versions_so_far(self, configuration: Configuration) -> str:
        if not configuration.pk:
            return "The first save makes version 1."
        return ", ".join(
            f"{version.number} (of {configuration.site.local(version.made_at):%d %b %Y})"
            for version in configuration.versions.all()
        )
