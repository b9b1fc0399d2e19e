"""Instruments, configurations with their count sheets, and trays, for the coordinator."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.contrib import admin
from django.forms.models import BaseInlineFormSet
from django.http import HttpRequest
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from deploy.kit.catalogue_admin import ATTRIBUTE_FIELDS, CatalogueAdmin
from deploy.kit.site_admin import SiteAdmin, SiteForm, SiteInline, Suggesting, site_of
from trays.count_sheets import CountSheetFaults, read_count_sheet, say_count_sheet
from trays.models import Configuration, ConfigurationVersion, Instrument, MissingLine, Tray
from trays.operations.count_sheets import contents_of, issue_count_sheet
from trays.stages import HELD_STAGES, Stage

ASSET = re.compile(r"[!\"%-?A-Z_a-z]{1,30}")
"""GS1 General Specifications, character set 82, as an asset identifier may use it."""

KINDS = ("add-on", "base", "extraction", "power", "stand-alone", Configuration.SUPPLEMENTARY)


@admin.register(Instrument)
class InstrumentAdmin(CatalogueAdmin):
    fieldsets = ((None, {"fields": ("ref", "role", "name")}), ATTRIBUTE_FIELDS)


# -- configurations ---------------------------------------------------------------------------


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


@admin.register(Configuration)
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


# -- trays ------------------------------------------------------------------------------------


def assembled_sheet(tray: Tray) -> ConfigurationVersion | None:
    """The count sheet of a tray that may not have been saved yet."""
    return tray.version if tray.version_id is not None else None


class TrayForm(SiteForm):
    assembled_to_sheet_in_force = forms.BooleanField(
        required=False,
        help_text="Tick when the tray was assembled again to the count sheet now in force.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["stage"].choices = [(stage, stage) for stage in Stage.values]  # type: ignore[attr-defined]
        self.fields["asset"].required = False
        self.fields["asset"].help_text += " Left empty: the site's prefix and the tray's code."

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        self._clean_version(cleaned)
        stage = cleaned.get("stage")
        ready, expected = cleaned.get("ready_at"), cleaned.get("expected_at")
        if stage in HELD_STAGES and ready:
            self.add_error("ready_at", f"a tray that is in “{stage}” has no ready time")
        if stage not in HELD_STAGES and stage and not ready:
            self.add_error("ready_at", "when it is, or was, sterile and released")
        if expected and stage != Stage.WITH_SUPPLIER:
            self.add_error("expected_at", f"only a tray “{Stage.WITH_SUPPLIER}” is expected")
        return cleaned

    def _clean_version(self, cleaned: dict[str, Any]) -> None:
        configuration = cleaned.get("configuration")
        if configuration is None:
            return
        sheet = assembled_sheet(self.instance)
        is_another = sheet is None or sheet.configuration_id != configuration.pk
        if is_another or cleaned.get("assembled_to_sheet_in_force"):
            version = in_force(configuration)
            if version is None:
                self.add_error("configuration", "it has no count sheet yet")
            else:
                self.instance.version = version

    def clean_asset(self) -> str:
        asset: str = self.cleaned_data["asset"].strip()
        asset = asset or f"{self.at_site.asset_prefix}{self.cleaned_data.get('code', '')}"
        if not ASSET.fullmatch(asset):
            raise forms.ValidationError(
                "at most 30 letters, digits and signs that a GS1 code can carry"
            )
        return asset

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        # Said field by field in words; the constraint's own name tells a person nothing.
        if {"ready_at", "expected_at"} & set(self.errors) and "__all__" in self.errors:
            del self.errors["__all__"]


class MissingLines(BaseInlineFormSet):  # type: ignore[type-arg]
    """What is missing stands on the count sheet to which the tray was assembled."""

    def clean(self) -> None:
        super().clean()
        version = assembled_sheet(self.instance)
        sheet = dict(contents_of(version)) if version else {}
        for form in self.forms:
            line = getattr(form, "cleaned_data", {})
            instrument = line.get("instrument")
            if instrument is None or line.get("DELETE"):
                continue
            holds = sheet.get(instrument.ref, 0)
            if line.get("quantity", 0) > holds:
                form.add_error("quantity", f"the count sheet has {holds} of {instrument.ref}")


class MissingInline(SiteInline):
    model = MissingLine
    formset = MissingLines
    autocomplete_fields = ("instrument",)
    verbose_name_plural = "missing from this tray"


class ByStage(admin.SimpleListFilter):
    """The stages in the words of the floor."""

    title = "stage"
    parameter_name = "stage"

    def lookups(self, request: HttpRequest, model_admin: Any) -> list[tuple[str, str]]:
        return [(stage, stage) for stage in Stage.values]

    def queryset(self, request: HttpRequest, queryset: Any) -> Any:
        return queryset.filter(stage=self.value()) if self.value() else queryset


@admin.register(Tray)
class TrayAdmin(SiteAdmin):
    form = TrayForm
    list_display = ("code", "configuration", "stands", "times", "missing", "location", "owner")
    list_filter = (ByStage, "configuration", "owner")
    list_select_related = ("configuration", "site")
    search_fields = ("code", "asset", "configuration__code", "location")
    inlines = (MissingInline,)
    readonly_fields = ("assembled_to",)
    fieldsets = (
        (None, {"fields": ("code", "configuration", "asset")}),
        ("Count sheet", {"fields": ("assembled_to", "assembled_to_sheet_in_force")}),
        (
            "Where it stands",
            {
                "fields": ("stage", ("ready_at", "sterile_until"), "expected_at", "location"),
                "description": "A tray on site has a ready time; a loan that has not come yet is "
                "“with supplier” and has an expected time; a tray on hold has neither.",
            },
        ),
        ("Whose", {"fields": ("owner", "note")}),
    )

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).prefetch_related("missing_lines__instrument")

    @admin.display(description="stage", ordering="stage")
    def stands(self, tray: Tray) -> str:
        return tray.stage

    @admin.display(description="assembled to")
    def assembled_to(self, tray: Tray) -> str:
        return f"version {tray.version.number}" if tray.pk else "the count sheet in force"

    @admin.display(description="ready or expected", ordering="ready_at")
    def times(self, tray: Tray) -> str:
        if tray.expected_at:
            return f"expected {tray.site.local(tray.expected_at):%a %d %b %H:%M}"
        return (
            f"ready {tray.site.local(tray.ready_at):%a %d %b %H:%M}" if tray.ready_at else "on hold"
        )

    @admin.display(description="missing")
    def missing(self, tray: Tray) -> str:
        return ", ".join(
            f"{line.quantity} × {line.instrument.ref}" for line in tray.missing_lines.all()
        )
