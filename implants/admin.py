"""The implant catalogue and the shelf, for the coordinator."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, ClassVar

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from deploy.kit.catalogue_admin import ATTRIBUTE_FIELDS, CatalogueAdmin
from deploy.kit.ledger_admin import LedgerAdmin, LedgerForm, moment_field
from deploy.kit.models import Person
from deploy.kit.signed_act import NotSigned, second_person
from deploy.kit.site_admin import SiteAdmin
from implants.ledger import UNITS
from implants.models import Implant, LabelCode, ShelfSettings, Unit
from implants.operations.holds import lift_quarantine, quarantine
from implants.operations.shelf import (
    enter_unit,
    expect_unit,
    receive_unit,
    return_to_supplier,
    strike_unit,
)
from implants.operations.theatre import correct_record, put_back, record_wasted
from implants.states import MOVES, Kind, UnitState
from implants.supplier_admin import UseRuleInline


@admin.register(Implant)
class ImplantAdmin(CatalogueAdmin):
    list_display = ("ref", "in_words", "name", "maker", "supplier", "lead_days", "replaced_on_use")
    list_filter = (*CatalogueAdmin.list_filter, "maker", "supplier", "replaced_on_use")
    list_select_related = ("supplier",)
    autocomplete_fields = ("superseded_by",)
    inlines = (UseRuleInline,)
    search_fields = ("ref", "name", "role", "gtin")
    fieldsets = (
        (None, {"fields": ("ref", "role", "name", "maker", "gtin")}),
        ATTRIBUTE_FIELDS,
        (
            "Supply",
            {"fields": ("supplier", "price", "lead_days", "replaced_on_use", "superseded_by")},
        ),
    )


@admin.register(LabelCode)
class LabelCodeAdmin(SiteAdmin):
    list_display = ("code", "implant")
    list_select_related = ("implant",)
    search_fields = ("code", "implant__ref")
    autocomplete_fields = ("implant",)


@admin.register(ShelfSettings)
class ShelfSettingsAdmin(SiteAdmin):
    list_display = ("site", "least_days_left", "count_every_days", "currency")


BY_HAND = (
    Kind.EXPECT,
    Kind.RECEIVE,
    Kind.PUT_BACK,
    Kind.QUARANTINE,
    Kind.LIFT,
    Kind.WASTE,
    Kind.RETURN,
    Kind.CORRECT,
    Kind.STRIKE,
)
"""What may be said on this page.  Picking and implanting are scanned at their place, a lot is
recalled as a whole."""
NEED_A_REASON = (Kind.QUARANTINE, Kind.LIFT, Kind.WASTE, Kind.CORRECT, Kind.STRIKE)
TAKE_TWO = (Kind.LIFT, Kind.CORRECT)
BY_HAND_CHOICES = [(kind.value, kind.value) for kind in BY_HAND]


class UnitForm(LedgerForm):
    happened = forms.ChoiceField(
        required=False,
        label="What has happened",
        help_text="Recorded in the box's history, which is never edited.",
    )
    expected_at = moment_field(
        help_text="It counts as on the shelf only when its receipt is recorded."
    )

    second = forms.CharField(
        required=False,
        label="Second person",
        help_text="To lift a hold, or to correct what was recorded, a second person signs here, "
        "with badge or user name.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    second_pin = forms.CharField(
        required=False,
        label="Their PIN or password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
    )
    second_signed: ClassVar[Person | NotSigned | None] = None
    """Who signed beside the person who acts, or why nobody did."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["expected_at"] = self.instance.expected_at
        self.moves = {
            Kind(move.kind): move
            for move in MOVES
            if move.from_state == self.instance.state and move.kind in BY_HAND
        }
        choices = [("", "nothing new" if self.instance.pk else "as below"), *BY_HAND_CHOICES]
        self.fields["happened"].choices = [  # type: ignore[attr-defined]
            (kind, said) for kind, said in choices if kind == "" or kind in self.moves
        ]

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        if cleaned.get("expiry") and cleaned.get("does_not_expire"):
            self.add_error("expiry", "leave the date empty, or untick “does not expire”")
        if not (cleaned.get("expiry") or cleaned.get("does_not_expire") or self.errors):
            self.add_error("expiry", "the use-by date, or tick “does not expire”")
        self._clean_move(cleaned)
        return cleaned

    def _clean_move(self, cleaned: dict[str, Any]) -> None:
        expected = cleaned.get("expected_at")
        is_new_time = expected is not None and expected != self.instance.expected_at
        kind = cleaned.get("happened") or ""
        if not kind and not self.instance.pk:
            kind = Kind.EXPECT if expected else Kind.RECEIVE
        if not kind and is_new_time:
            kind = Kind.EXPECT
        if kind == Kind.EXPECT and kind not in self.moves:
            self.add_error("expected_at", f"a box that is {self.instance.state} is not expected")
        elif kind == Kind.EXPECT and not expected:
            self.add_error("expected_at", "when it should be here")
        elif kind in NEED_A_REASON and not cleaned.get("reason"):
            self.add_error("reason", "why")
        if isinstance(self.second_signed, NotSigned):
            self.add_error("second_pin", self.second_signed.say())
        cleaned["signed"] = self.second_signed
        cleaned["happened"] = kind

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        # Said above in words; the constraint's own name tells a person nothing.
        if "expiry" in self.errors and "__all__" in self.errors:
            del self.errors["__all__"]


class ByState(admin.SimpleListFilter):
    """Stock unless something else is asked for."""

    title = "state"
    parameter_name = "state"

    def lookups(self, request: HttpRequest, model_admin: Any) -> list[tuple[str, str]]:
        return [(state, state) for state in UnitState.values]

    def queryset(self, request: HttpRequest, queryset: Any) -> Any:
        return queryset.filter(state=self.value()) if self.value() else queryset


def _second_of(request: HttpRequest) -> Person | NotSigned | None:
    """Who signs beside the person who acts, where what has happened takes two."""
    happened = request.POST.get("happened")
    if happened not in TAKE_TWO:
        return None
    try:
        return second_person(request, "implants.change_unit", act=f"{happened}, a box")
    except NotSigned as refusal:
        return refusal


@admin.register(Unit)
class UnitAdmin(LedgerAdmin):
    ledger = UNITS
    form = UnitForm
    list_display = ("code", "what", "lot", "serial", "use_by", "location", "owner", "stands")
    list_filter = (ByState, "owner", "implant__role", "does_not_expire")
    list_select_related = ("implant", "site")
    search_fields = ("code", "lot", "serial", "implant__ref", "location")
    date_hierarchy = "expiry"
    autocomplete_fields = ("implant",)
    readonly_fields = ("stands", "history")
    fieldsets = (
        (None, {"fields": ("code", "implant", ("lot", "serial"))}),
        ("Use by", {"fields": ("expiry", "does_not_expire")}),
        ("Where and whose", {"fields": ("location", "owner")}),
        (
            "Where it stands",
            {
                "fields": (
                    "stands",
                    "happened",
                    "reason",
                    ("second", "second_pin"),
                    "expected_at",
                    "history",
                    "seq",
                ),
                "description": "A hold keeps the box from every case; to lift it takes two people.",
            },
        ),
    )

    def get_form(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        form = super().get_form(request, *args, **kwargs)
        form.second_signed = _second_of(request)
        return form

    def record(self, item: Unit, said: dict[str, Any], by: Person, change: bool) -> None:
        now = by.site.now()
        kind, reason = said["happened"], said["reason"]
        if not change:
            enter_unit(
                unit=item,
                by=by,
                now=now,
                expected_at=said["expected_at"] if kind == Kind.EXPECT else None,
                reason=reason,
            )
            return
        acts: dict[str, Callable[..., Unit]] = {
            Kind.EXPECT: partial(expect_unit, expected_at=said["expected_at"]),
            Kind.RECEIVE: partial(receive_unit, reason=reason),
            Kind.PUT_BACK: put_back,
            Kind.QUARANTINE: partial(quarantine, reason=reason),
            Kind.WASTE: partial(record_wasted, reason=reason),
            Kind.RETURN: partial(return_to_supplier, reason=reason),
            Kind.STRIKE: partial(strike_unit, reason=reason),
            Kind.LIFT: partial(lift_quarantine, reason=reason, second=said["signed"]),
            Kind.CORRECT: partial(correct_record, reason=reason, second=said["signed"]),
        }
        if kind:
            acts[kind](unit=item, by=by, now=now, seq=said["seq"])

    @admin.display(description="implant", ordering="implant__ref")
    def what(self, unit: Unit) -> str:
        return str(unit.implant)

    @admin.display(description="use by", ordering="expiry")
    def use_by(self, unit: Unit) -> str:
        return f"{unit.expiry:%d %b %Y}" if unit.expiry else "does not expire"

    @admin.display(description="state", ordering="state")
    def stands(self, unit: Unit) -> str:
        if unit.hold:
            return f"on hold: {unit.hold}"
        if unit.expected_at:
            return f"expected {unit.site.local(unit.expected_at):%a %d %b %H:%M}"
        return f"{unit.state} for case {unit.case_ref}" if unit.case_ref else unit.state or "new"
