"""Forms and lists of catalogue rows: one field an attribute, one column of words."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from deploy.kit.attributes import ATTRIBUTES, Attribute
from deploy.kit.catalogue import CatalogueRow
from deploy.kit.models import Site
from deploy.kit.site_admin import SiteAdmin, SiteForm, Suggesting, site_of


def field_of(attribute: Attribute) -> forms.Field:
    label = attribute.label.capitalize() + (f" ({attribute.unit})" if attribute.unit else "")
    if attribute.number:
        return forms.DecimalField(label=label, required=False, max_digits=12, decimal_places=6)
    return forms.CharField(label=label, required=False, max_length=120)


class CatalogueForm(SiteForm):
    """The attributes' JSON is read from, and written to, one field each."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial = {**self.instance.attributes, **self.initial}
        model = type(self.instance)
        self.fields["role"].widget = Suggesting(said_before(model, self.at_site, "role"))
        for key in ("system", "offset", "taper", "group", "material"):
            self.fields[key].widget = Suggesting(
                said_before(model, self.at_site, f"attributes__{key}")
            )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        self.instance.attributes = {
            key: as_json(value)
            for key in ATTRIBUTES
            if (value := cleaned.get(key)) not in (None, "")
        }
        return cleaned


# The form class's own register of fields: the table of attributes is the only list of them.
CatalogueForm.declared_fields.update({a.key: field_of(a) for a in ATTRIBUTES.values()})


def as_json(value: str | Decimal) -> str | int | float:
    """A decimal as a JSON number that reads back as the same decimal (at most 12 digits)."""
    if isinstance(value, Decimal):
        return int(value) if value == int(value) else float(value)
    return value


def said_before(model: type[CatalogueRow], site: Site, path: str) -> list[str]:
    """The distinct values of a field or an attribute, in order.  One query."""
    found = model._default_manager.filter(site=site).order_by().values_list(path, flat=True)
    return sorted({str(value) for value in found.distinct() if value is not None})


class ByAttribute(admin.SimpleListFilter):
    """A list filter on one attribute; subclasses name it."""

    def lookups(self, request: HttpRequest, model_admin: Any) -> Iterable[tuple[str, str]]:
        path = f"attributes__{self.parameter_name}"
        return [(one, one) for one in said_before(model_admin.model, site_of(request), path)]

    def queryset(self, request: HttpRequest, queryset: Any) -> Any:
        if self.value() is None:
            return queryset
        return queryset.filter(**{f"attributes__{self.parameter_name}": self.value()})


class BySystem(ByAttribute):
    title = "system"
    parameter_name = "system"


class ByOffset(ByAttribute):
    title = "offset"
    parameter_name = "offset"


ATTRIBUTE_FIELDS: Any = (
    "Attributes",
    {
        "fields": (
            ("system", "size", "offset"),
            ("diameter", "inner_diameter", "distal_diameter"),
            ("length", "neck_length", "seat_offset"),
            ("taper", "group", "material"),
            "side",
        ),
        "description": "Leave empty what it does not have: a rule that asks for the attribute "
        "then passes it by. Sizes are the maker's numbers.",
    },
)


class CatalogueAdmin(SiteAdmin):
    form = CatalogueForm
    list_display: Any = ("ref", "in_words", "name")
    list_filter: ClassVar[Any] = ("role", BySystem, ByOffset)
    search_fields: ClassVar[Any] = ("ref", "name", "role")

    @admin.display(description="what it is")
    def in_words(self, row: CatalogueRow) -> str:
        return row.in_words()
