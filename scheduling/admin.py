"""Techniques, theatres, surgeons and the house's settings, for the coordinator."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from deploy.kit.site_admin import SiteAdmin, SiteForm, site_of
from scheduling.coverage.scenario_fields import minute_from
from scheduling.coverage.scenario_write import minute_json
from scheduling.models import (
    ClosedDate,
    HouseSettings,
    Maker,
    OnCallNight,
    OpeningHours,
    Surgeon,
    TaperPair,
    Technique,
    Theatre,
)
from scheduling.models.house import CAPACITY_FIELDS
from scheduling.techniques.admin_pages import TechniqueAdmin

admin.site.register(Technique, TechniqueAdmin)


class MinuteOfDay(forms.CharField):
    """A local time of day as HH:MM; `midnight`: 24:00, the end of the day, is welcome too."""

    def __init__(self, *, midnight: bool = False, **kwargs: Any) -> None:
        super().__init__(max_length=5, **kwargs)
        self.midnight = midnight
        self.widget.attrs.update({"size": 5, "placeholder": "HH:MM"})

    def clean(self, value: Any) -> int:
        text = super().clean(value).strip()
        try:
            return minute_from(text.rjust(5, "0"), midnight=self.midnight)
        except ValueError:
            raise forms.ValidationError(f"a time of day as HH:MM, not “{text}”") from None

    def prepare_value(self, value: Any) -> Any:
        return minute_json(value) if isinstance(value, int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool(self.prepare_value(initial) != data)


class HouseForm(SiteForm):
    order_cut_off_minute = MinuteOfDay(
        label="Order cut-off",
        help_text="An order after it counts as placed on the next working day.",
    )
    delivery_minute = MinuteOfDay(label="Delivery time")


@admin.register(HouseSettings)
class HouseSettingsAdmin(SiteAdmin):
    form = HouseForm
    list_display = (
        "__str__",
        "needed_before_minutes",
        "out_of_theatre_minutes",
        "shelf_return_minutes",
    )
    fieldsets = (
        (
            "Around a case",
            {
                "fields": (
                    "needed_before_minutes",
                    "out_of_theatre_minutes",
                    "shelf_return_minutes",
                ),
                "description": "The house's own figures, in minutes: settings, not advice.",
            },
        ),
        ("Loans", {"fields": ("loan_check_in_minutes", "loan_hours_ahead")}),
        ("Sterile services elsewhere", {"fields": ("transport_minutes",)}),
        (
            "Orders",
            {
                "fields": (
                    "order_cut_off_minute",
                    "delivery_minute",
                    "short_dated_days",
                    "size_risk_least_cases",
                )
            },
        ),
        (
            "What sterile services can take at once",
            {
                "fields": tuple(
                    (f"{stage}_places", f"{stage}_minutes") for stage in CAPACITY_FIELDS.values()
                ),
                "description": "Left empty, a stage has room for everything that comes.",
            },
        ),
    )

    def has_add_permission(self, request: HttpRequest) -> bool:
        return super().has_add_permission(request) and not self.get_queryset(request).exists()

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class OpeningForm(SiteForm):
    opens_minute = MinuteOfDay(label="Opens")
    closes_minute = MinuteOfDay(
        label="Closes", midnight=True, help_text="24:00 is midnight at the end of the day."
    )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        opens, closes = cleaned.get("opens_minute"), cleaned.get("closes_minute")
        if opens is not None and closes is not None and opens >= closes:
            self.add_error("closes_minute", "after it opens")
        return cleaned

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        # Said above in words; the constraint's own name tells a person nothing.
        if "closes_minute" in self.errors and "__all__" in self.errors:
            del self.errors["__all__"]


@admin.register(OpeningHours)
class OpeningHoursAdmin(SiteAdmin):
    form = OpeningForm
    list_display = ("__str__", "opens", "closes")
    fields = ("weekday", "opens_minute", "closes_minute")

    @admin.display(description="opens")
    def opens(self, hours: OpeningHours) -> str:
        return minute_json(hours.opens_minute)

    @admin.display(description="closes")
    def closes(self, hours: OpeningHours) -> str:
        return minute_json(hours.closes_minute)


@admin.register(OnCallNight)
class OnCallNightAdmin(SiteAdmin):
    list_display = ("day", "contact")
    fields = ("day", "contact")
    date_hierarchy = "day"


@admin.register(ClosedDate)
class ClosedDateAdmin(SiteAdmin):
    list_display = ("day",)
    fields = ("day",)
    date_hierarchy = "day"


@admin.register(Theatre)
class TheatreAdmin(SiteAdmin):
    list_display = ("code",)
    fields = ("code",)


@admin.register(Maker)
class MakerAdmin(SiteAdmin):
    list_display = ("name", "address", "website")
    fields = ("name", "address", "website")
    search_fields = ("name",)


@admin.register(TaperPair)
class TaperPairAdmin(SiteAdmin):
    list_display = ("stem_taper", "head_taper", "document")
    fields = ("stem_taper", "head_taper", "document")
    search_fields = ("stem_taper", "head_taper", "document")


@admin.register(Surgeon)
class SurgeonAdmin(SiteAdmin):
    list_display = ("name", "user")
    list_select_related = ("user",)
    search_fields = ("name",)
    fields = ("name", "user", "colleagues")

    def formfield_for_manytomany(self, db_field: Any, request: HttpRequest, **kwargs: Any) -> Any:
        """Colleagues are surgeons of the site: only they may plan."""
        if db_field.name == "colleagues":
            kwargs["queryset"] = db_field.related_model.objects.filter(
                person__site=site_of(request), groups__name="surgeon"
            )
        return super().formfield_for_manytomany(db_field, request, **kwargs)

    def formfield_for_foreignkey(self, db_field: Any, request: HttpRequest, **kwargs: Any) -> Any:
        if db_field.name == "user":
            accounts = db_field.related_model.objects
            kwargs["queryset"] = accounts.filter(
                person__site=site_of(request), groups__name="surgeon"
            )
        return super().formfield_for_foreignkey(db_field, request, **kwargs)
