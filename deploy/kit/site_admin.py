"""Admin pages that are bound to the place of work: one sees and makes rows of one's own site,
and reads and writes times as that site's clocks show them.

An account without a place of work (the administrator's) sees none of these pages.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.contrib import admin
from django.core.exceptions import FieldDoesNotExist
from django.db import models
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.template.response import SimpleTemplateResponse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from deploy.kit.models import Person, Site

if TYPE_CHECKING:
    ModelForm = forms.ModelForm[Any]
    ModelAdmin = admin.ModelAdmin[Any]
    TabularInline = admin.TabularInline[Any, Any]
else:  # generic for the type checker only
    ModelForm = forms.ModelForm
    ModelAdmin = admin.ModelAdmin
    TabularInline = admin.TabularInline


def place_of(request: HttpRequest) -> Site | None:
    """The acting person's site, or None."""
    person: Person | None = getattr(request.user, "person", None)
    return person.site if person else None


def site_of(request: HttpRequest) -> Site:
    """The acting person's site, behind a page that only a person with one may open."""
    place = place_of(request)
    assert place is not None
    return place


class SiteForm(ModelForm):
    """A form whose row belongs to `at_site`, which the person does not choose."""

    at_site: ClassVar[Site]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.site_id is None:
            self.instance.site = self.at_site

    def _get_validation_exclusions(self) -> set[str]:
        # So that "once a site" is refused on the page, not by the database.
        return super()._get_validation_exclusions() - {"site"}  # type: ignore[misc, no-any-return]


class _OfOneSite:
    """Choices of a foreign key: the rows of one's own site."""

    def formfield_for_foreignkey(
        self, db_field: models.ForeignKey[Any, Any], request: HttpRequest, **kwargs: Any
    ) -> Any:
        related = db_field.related_model
        if "queryset" not in kwargs and has_site(related):
            kwargs["queryset"] = related._default_manager.filter(site=site_of(request))
        return super().formfield_for_foreignkey(db_field, request, **kwargs)  # type: ignore[misc]


def has_site(model: Any) -> bool:
    try:
        model._meta.get_field("site")
    except FieldDoesNotExist:
        return False
    return True


class SiteInline(_OfOneSite, TabularInline):
    extra = 0


class SiteAdmin(_OfOneSite, ModelAdmin):
    form = SiteForm
    list_per_page = 50

    class Media:
        css = {"all": ("kit/admin.css",)}

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        return super().get_queryset(request).filter(site=place_of(request))

    def get_form(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        form = super().get_form(request, *args, **kwargs)
        form.at_site = place_of(request)  # type: ignore[attr-defined]
        return form

    def get_exclude(self, request: HttpRequest, obj: Any = None) -> Any:
        return [*(super().get_exclude(request, obj) or []), "site"]

    # -- who ----------------------------------------------------------------------------------

    def has_module_permission(self, request: HttpRequest) -> bool:
        return place_of(request) is not None and super().has_module_permission(request)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return place_of(request) is not None and super().has_view_permission(request, obj)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return place_of(request) is not None and super().has_add_permission(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return place_of(request) is not None and super().has_change_permission(request, obj)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return place_of(request) is not None and super().has_delete_permission(request, obj)

    # -- when ---------------------------------------------------------------------------------

    def changelist_view(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        with timezone.override(_zone(request)):
            return _rendered(super().changelist_view(request, *args, **kwargs))

    def changeform_view(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        with timezone.override(_zone(request)):
            return _rendered(super().changeform_view(request, *args, **kwargs))


def _zone(request: HttpRequest) -> Any:
    place = place_of(request)
    return place.zone if place else None


def _rendered(response: HttpResponse) -> HttpResponse:
    """Rendered now, while the site's time zone is the current one."""
    return response.render() if isinstance(response, SimpleTemplateResponse) else response


class Suggesting(forms.TextInput):
    """A text field that offers what was written before, and takes anything."""

    def __init__(self, suggestions: Iterable[str]) -> None:
        super().__init__({"class": "vTextField"})
        self.suggestions = suggestions

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        list_id = f"{name}-suggestions"
        field = super().render(name, value, {**(attrs or {}), "list": list_id}, renderer)
        options = format_html_join("", '<option value="{}">', ((one,) for one in self.suggestions))
        return format_html('{}<datalist id="{}">{}</datalist>', field, list_id, options)
