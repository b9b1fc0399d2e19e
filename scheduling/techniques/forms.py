"""Forms of the parts of a technique, in plain words; each fault stands on its own field."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django import forms
from django.forms.models import BaseInlineFormSet

from deploy.kit.site_admin import ModelForm
from scheduling.coverage.scenario_write import (
    check_json,
    confirmation_json,
    rule_json,
    set_json,
)
from scheduling.coverage.values import Check, Condition, Confirmation, Need, Rule, SetAsked
from scheduling.models import (
    TechniqueCheck,
    TechniqueConfirmation,
    TechniqueRule,
    TechniqueSet,
)
from scheduling.techniques.catalogue import KnownCatalogue
from scheduling.techniques.stored import check_of, confirmation_of, rule_of, set_of
from scheduling.techniques.validation import (
    Faults,
    check_faults,
    confirmation_faults,
    rule_faults,
    set_faults,
)
from scheduling.techniques.words import (
    WordsNotUnderstood,
    read_condition,
    read_options,
    read_selection,
    read_terms,
    say_condition,
    say_options,
    say_selection,
    say_terms,
)

T = TypeVar("T")


WIDTH = 40


def words(*, required: bool = False, cols: int = 24) -> forms.CharField:
    return forms.CharField(
        required=required, widget=forms.Textarea({"cols": cols, "spellcheck": "false"})
    )


class PartForm(ModelForm):
    """What every part has: its place in the order, and a condition."""

    position = forms.IntegerField(
        required=False, min_value=0, widget=forms.NumberInput({"size": 3, "class": "vSmall"})
    )
    when_said = words()

    def __init__(self, *args: Any, known: KnownCatalogue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = known
        if self.instance.pk:
            self.initial.update(self.in_words())
        for name, field in self.fields.items():
            if name.endswith("_said"):
                field.label = name.removesuffix("_said")
                said = str(self.initial.get(name, "")).splitlines()
                rows = max(2, sum(1 + len(line) // WIDTH for line in said))
                field.widget.attrs["rows"] = rows

    def in_words(self) -> dict[str, str]:
        """The instance's JSON as this form's texts."""
        raise NotImplementedError

    def judged(self, when: Condition) -> Faults:
        """Take the texts over into the instance; what cannot be explained about them."""
        raise NotImplementedError

    def read(self, field: str, reader: Callable[[str], T]) -> T | None:
        """The field's text, read; None where it has faults, which are noted on the field."""
        try:
            return reader(self.cleaned_data.get(field) or "")
        except WordsNotUnderstood as error:
            self.add_error(field, error.faults)
            return None

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        when = self.read("when_said", read_condition) or {}
        for field, fault in self.judged(when):
            said = field if field in self.fields else f"{field}_said"
            self.add_error(said, fault)
        return cleaned

    def store(self, part: dict[str, Any], *names: str) -> None:
        """Write those entries of the part's JSON into the instance."""
        for name in names:
            setattr(self.instance, name, part.get(name, {}))


class Parts(BaseInlineFormSet):  # type: ignore[type-arg]
    """The parts of one kind; a part without a place comes last."""

    def clean(self) -> None:
        super().clean()
        kept = [form for form in self.forms if not self._should_delete_form(form)]  # type: ignore[attr-defined]
        places = [form.cleaned_data.get("position") for form in kept if form.is_valid()]
        last = max((place for place in places if place is not None), default=0)
        for form in kept:
            if form.is_valid() and form.cleaned_data.get("position") is None:
                last += 1
                form.instance.position = last


class Rules(Parts):
    def known_roles(self) -> list[str]:
        known: KnownCatalogue = self.form_kwargs["known"]
        return sorted({*known.implants, *known.instruments})


class SetForm(PartForm):
    options_said = words(required=True)

    class Meta:
        model = TechniqueSet
        fields = ("position", "purpose")

    def in_words(self) -> dict[str, str]:
        asked = set_of(self.instance)
        return {"options_said": say_options(asked.options), "when_said": say_condition(asked.when)}

    def judged(self, when: Condition) -> Faults:
        options = self.read("options_said", read_options) or ()
        asked = SetAsked(self.cleaned_data.get("purpose", ""), options, when)
        self.store(set_json(asked), "options", "when")
        return set_faults(asked, self.known) if options else []


class RuleForm(PartForm):
    select_said = words(cols=WIDTH)

    class Meta:
        model = TechniqueRule
        fields = ("position", "need", "quantity", "role")
        # One list of suggestions serves all rows, also those that a script adds.
        widgets = {"role": forms.TextInput({"class": "vTextField", "list": "known-roles"})}

    def in_words(self) -> dict[str, str]:
        rule = rule_of(self.instance)
        return {"select_said": say_selection(rule.select), "when_said": say_condition(rule.when)}

    def judged(self, when: Condition) -> Faults:
        rule = Rule(
            role=self.cleaned_data.get("role", ""),
            need=Need(self.cleaned_data.get("need", Need.PLANNED)),
            select=self.read("select_said", read_selection) or {},
            quantity=self.cleaned_data.get("quantity") or 1,
            when=when,
        )
        if self.cleaned_data.get("quantity") == 0:
            self.add_error("quantity", "1 or more")
        self.store(rule_json(rule), "select", "when")
        return [f for f in rule_faults(rule, self.known) if f[0] != "role" or rule.role]


class CheckForm(PartForm):
    left_said = words(required=True)
    right_said = words(required=True)

    class Meta:
        model = TechniqueCheck
        fields = ("position", "code", "kind")

    def in_words(self) -> dict[str, str]:
        check = check_of(self.instance)
        return {
            "left_said": say_terms(check.left),
            "right_said": say_terms(check.right),
            "when_said": say_condition(check.when),
        }

    def judged(self, when: Condition) -> Faults:
        sides = [
            (self.cleaned_data.get(side) and self.read(side, read_terms)) or ()
            for side in ("left_said", "right_said")
        ]
        if not all(sides) or "kind" not in self.cleaned_data:
            return []
        check = Check(
            self.cleaned_data.get("code", ""), self.cleaned_data["kind"], sides[0], sides[1], when
        )
        faults = check_faults(check, self.known)
        if not faults:
            self.store(check_json(check), "left", "right", "when")
        return faults


class ConfirmationForm(PartForm):
    class Meta:
        model = TechniqueConfirmation
        fields = ("position", "code")

    def in_words(self) -> dict[str, str]:
        return {"when_said": say_condition(confirmation_of(self.instance).when)}

    def judged(self, when: Condition) -> Faults:
        asked = Confirmation(self.cleaned_data.get("code", ""), when)
        self.store(confirmation_json(asked), "when")
        return confirmation_faults(asked, self.known)
