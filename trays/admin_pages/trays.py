"""A tray: where it stands, the count sheet it was assembled to, and what it lacks of it."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.contrib import admin
from django.forms.models import BaseInlineFormSet
from django.http import HttpRequest

from deploy.kit.ledger_admin import LedgerAdmin, LedgerForm, moment_field
from deploy.kit.models import Person
from deploy.kit.site_admin import SiteInline
from trays.admin_pages.configurations import in_force
from trays.hold_kinds import BY_A_PERSON, HoldKind, stage_of_hold
from trays.ledger import ON_HOLD, TRAYS
from trays.models import ConfigurationVersion, MissingLine, Tray
from trays.operations.count_sheets import contents_of
from trays.operations.holds import hold_for, note_hold
from trays.operations.moves import enter_tray, move_tray
from trays.stages import HELD_STAGES, Stage, may_follow

ASSET = re.compile(r"[!\"%-?A-Z_a-z]{1,30}")
"""GS1 General Specifications, character set 82, as an asset identifier may use it."""


def assembled_sheet(tray: Tray) -> ConfigurationVersion | None:
    """The count sheet of a tray that may not have been saved yet."""
    return tray.version if tray.version_id is not None else None


class TrayForm(LedgerForm):
    assembled_to_sheet_in_force = forms.BooleanField(
        required=False,
        help_text="Tick when the tray was assembled again to the count sheet now in force.",
    )
    stage = forms.ChoiceField(
        help_text="The stages that may follow. A change is recorded in the tray's history, which "
        "is never edited."
    )
    hold_kind = forms.ChoiceField(
        label="Why held",
        required=False,
        choices=[("", "---------"), *((kind.value, kind.value) for kind in BY_A_PERSON)],
        help_text="For a tray that goes on hold now.",
    )
    ready_at = moment_field(label="Ready at")
    sterile_until = moment_field(
        label="Sterile until", help_text="Empty: sterility ends by event, not by date."
    )
    expected_at = moment_field(
        label="Expected at", help_text="A loan not received yet: when it should be here."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        tray = self.instance
        self.fields["stage"].choices = [  # type: ignore[attr-defined]
            (stage.value, stage.value) for stage in Stage if may_follow(tray.stage, stage)
        ]
        self.initial.update({name: getattr(tray, name) for name in ("stage", *TRAYS.moments)})
        if not tray.pk:
            self.initial["stage"] = Stage.STERILE_STORE
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
        is_held = self.instance.pk and self.instance.stage in HELD_STAGES
        if stage in ON_HOLD and not is_held:
            kind = cleaned.get("hold_kind")
            if not kind:
                self.add_error("hold_kind", "why it is held: one of these")
            elif stage_of_hold(HoldKind(kind)) != stage:
                self.add_error(
                    "hold_kind", f"a tray held for this is in “{stage_of_hold(HoldKind(kind))}”"
                )
        elif stage in ON_HOLD and stage != self.instance.stage and not cleaned.get("reason"):
            self.add_error("reason", "why")
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


class TrayAdmin(LedgerAdmin):
    ledger = TRAYS
    form = TrayForm
    list_display = ("code", "configuration", "stands", "times", "missing", "location", "owner")
    list_filter = (ByStage, "configuration", "owner")
    list_select_related = ("configuration", "site")
    search_fields = ("code", "asset", "configuration__code", "location")
    inlines = (MissingInline,)
    readonly_fields = ("assembled_to", "history")
    fieldsets = (
        (None, {"fields": ("code", "configuration", "asset")}),
        ("Count sheet", {"fields": ("assembled_to", "assembled_to_sheet_in_force")}),
        (
            "Where it stands",
            {
                "fields": (
                    ("stage", "hold_kind", "reason"),
                    ("ready_at", "sterile_until"),
                    "expected_at",
                    "location",
                    "history",
                    "seq",
                ),
                "description": "A tray on site has a ready time; a loan that has not come yet is "
                "“with supplier” and has an expected time; a tray on hold has neither.",
            },
        ),
        ("Whose", {"fields": ("owner", "note")}),
    )

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).prefetch_related("missing_lines__instrument")

    def record(self, item: Tray, said: dict[str, Any], by: Person, change: bool) -> None:
        stands = {name: said[name] for name in ("stage", *TRAYS.moments)}
        now = by.site.now()
        kind = HoldKind(said["hold_kind"]) if said["hold_kind"] else None
        note = said["reason"][:80]
        if not change:
            entered = enter_tray(tray=item, by=by, now=now, **stands)
            if kind and said["stage"] in ON_HOLD:
                note_hold(tray=entered, kind=kind, note=note, by=by, now=now)
        elif kind and said["stage"] in ON_HOLD and item.stage not in HELD_STAGES:
            hold_for(tray=item, kind=kind, note=note, by=by, now=now, seq=said["seq"])
        elif said["reason"] or any(getattr(item, name) != it for name, it in stands.items()):
            # A tray that stays where it is stays that case's.
            case_ref = item.case_ref if said["stage"] == item.stage else ""
            move_tray(
                tray=item,
                by=by,
                now=now,
                seq=said["seq"],
                reason=said["reason"],
                case_ref=case_ref,
                **stands,
            )

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
