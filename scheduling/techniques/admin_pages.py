"""The page of a technique in the admin: its parts in plain words, and the whole read back."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils.html import format_html
from django.utils.safestring import SafeString

from deploy.kit.site_admin import SiteAdmin, SiteInline, site_of
from scheduling.models import (
    Technique,
    TechniqueCheck,
    TechniqueConfirmation,
    TechniqueRule,
    TechniqueSet,
)
from scheduling.techniques.catalogue import known_catalogue
from scheduling.techniques.explain import explain
from scheduling.techniques.forms import CheckForm, ConfirmationForm, Parts, RuleForm, Rules, SetForm
from scheduling.techniques.stored import technique_of

Guide = tuple[tuple[str, str], ...]
"""(what one may write, what it means)"""

WHEN: Guide = (
    (
        "approach is posterior or lateral",
        "“When”: on which plans it counts, one line a fact or attribute, all must hold. "
        "Empty: always. yes and no are answers; a number in quotes is a text.",
    ),
)


class PartInline(SiteInline):
    template = "scheduling/admin/parts.html"
    formset = Parts
    guide: Guide = ()


class SetInline(PartInline):
    model = TechniqueSet
    form = SetForm
    fields = ("position", "purpose", "options_said", "when_said")
    verbose_name = "set of trays"
    verbose_name_plural = "sets of trays"
    guide = (
        ("STAND\nBASE + ADD", "Options, the preferred first; + joins trays opened together."),
        *WHEN,
    )


class RuleInline(PartInline):
    model = TechniqueRule
    form = RuleForm
    formset = Rules
    fields = ("position", "need", "quantity", "role", "select_said", "when_said")
    verbose_name = "rule"
    verbose_name_plural = "rules (what the plan needs)"
    guide = (
        ("offset: stem.offset", "“Select”, one line an attribute, all must hold: as the plan's."),
        ("size: from 9 to stem.size, 1 below, 2 above", "A ladder; either end may be left out."),
        ("size: at stem.size, 1 below", "A ladder that starts and ends at one value."),
        ('material: "ceramic", "metal"', "One of these; texts stand in quotes, numbers do not."),
        ("inner diameter: fact liner_inner_diameter", "As a fact of the plan."),
        *WHEN,
    )


class CheckInline(PartInline):
    model = TechniqueCheck
    form = CheckForm
    fields = ("position", "code", "left_said", "kind", "right_said", "when_said")
    verbose_name = "check"
    verbose_name_plural = "checks of the plan"
    guide = (
        ("head.taper", "“equal”: one attribute or fact on each side."),
        (
            "osteotomy_mm + 2 × bone_diameter_mm",
            "“at least”: the left sum reaches the right one. The code is what people read when "
            "the check fails.",
        ),
        *WHEN,
    )


class ConfirmationInline(PartInline):
    model = TechniqueConfirmation
    form = ConfirmationForm
    fields = ("position", "code", "when_said")
    verbose_name = "confirmation"
    verbose_name_plural = "confirmations by a person"
    guide = WHEN


class TechniqueAdmin(SiteAdmin):
    """A technique is refused where it cannot be explained; a sound one is read back in words."""

    list_display = ("code", "name")
    search_fields = ("code", "name")
    fields = ("code", "name", "read_back")
    readonly_fields = ("read_back",)
    inlines = (SetInline, RuleInline, CheckInline, ConfirmationInline)
    save_as = True
    save_on_top = True

    def get_formset_kwargs(
        self, request: HttpRequest, obj: Any, inline: Any, prefix: str
    ) -> dict[str, Any]:
        kwargs: dict[str, Any] = super().get_formset_kwargs(request, obj, inline, prefix)
        if not hasattr(request, "_known_catalogue"):
            request._known_catalogue = known_catalogue(site_of(request))  # type: ignore[attr-defined]
        return {**kwargs, "form_kwargs": {"known": request._known_catalogue}}  # type: ignore[attr-defined]

    def read_back(self, technique: Technique) -> SafeString | str:
        if technique.pk is None:
            return "Saved first, then said here as a whole."
        return format_html("<pre>{}</pre>", explain(technique_of(technique)))

    read_back.short_description = "read back"  # type: ignore[attr-defined]
