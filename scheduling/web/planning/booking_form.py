"""What a person writes to book or move a case, read and checked; nothing is decided here."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from deploy.kit.models import Person
from scheduling.coverage.values import Priority
from scheduling.models import Case, Side, Surgeon, Theatre
from scheduling.web.planning.moments import NoSuchTime, moment_of

LONGEST_CASE = 24 * 60


class WhenForm(forms.Form):
    """When and where.  `moment` in the cleaned data: the start in UTC."""

    day = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    clock = forms.TimeField(
        label="Start", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    minutes = forms.IntegerField(
        min_value=1,
        max_value=LONGEST_CASE,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    theatre = forms.ModelChoiceField(Theatre.objects.none(), required=False, empty_label="not yet")

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.site = person.site
        self._choices("theatre").queryset = Theatre.objects.filter(site=person.site)

    def _choices(self, name: str) -> forms.ModelChoiceField[Any]:
        field = self.fields[name]
        assert isinstance(field, forms.ModelChoiceField)
        return field

    def clean_day(self) -> date:
        """Not a day long past, a year mistyped; but a case of the night may be entered late."""
        day: date = self.cleaned_data["day"]
        if day < self.site.local(self.site.now()).date() - timedelta(days=1):
            raise ValidationError(f"{day:%a} {day.day} {day:%B %Y} is past. Choose today or later.")
        return day

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "day" in cleaned and "clock" in cleaned:
            try:
                cleaned["moment"] = moment_of(self.site, cleaned["day"], cleaned["clock"])
            except NoSuchTime as fault:
                self.add_error("clock", str(fault))
        return cleaned

    @staticmethod
    def of(case: Case) -> dict[str, Any]:
        """The fields as the case has them now."""
        start: datetime = case.site.local(case.start)
        return {
            "day": start.date(),
            "clock": start.time(),
            "minutes": case.minutes,
            "theatre": case.theatre_id,
        }


class BookingForm(WhenForm):
    """A new case.  A surgeon who books only their own is not asked for whom."""

    ref = forms.CharField(
        label="Case reference",
        max_length=64,
        help_text="A pseudonym: no name, no number of a patient.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    side = forms.ChoiceField(choices=[("", "choose"), *Side.choices])
    surgeon = forms.ModelChoiceField(Surgeon.objects.none(), required=False, empty_label="not yet")
    priority = forms.ChoiceField(
        choices=[(one.value, one.value) for one in reversed(Priority)],
        initial=Priority.ELECTIVE.value,
    )
    field_order = ("ref", "side", "day", "clock", "minutes", "theatre", "surgeon", "priority")

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(person, *args, **kwargs)
        if person.user.has_perm("scheduling.book_case"):
            self._choices("surgeon").queryset = Surgeon.objects.filter(site=person.site)
        else:
            del self.fields["surgeon"]
