"""Admin pages of items with a ledger: their state changes by operations, never by saving a field.

The page's fields that stand for the state are the form's own; the form carries the number of the
last movement that the person saw, and is refused where another has come since.
"""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.contrib.admin.widgets import AdminSplitDateTime
from django.http import HttpRequest, HttpResponseRedirect
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from deploy.kit.doors import person_of
from deploy.kit.errors import Refused
from deploy.kit.ledger import Ledger
from deploy.kit.models import Person
from deploy.kit.site_admin import SiteAdmin, SiteForm


def moment_field(**said: Any) -> forms.SplitDateTimeField:
    return forms.SplitDateTimeField(required=False, widget=AdminSplitDateTime(), **said)


class LedgerForm(SiteForm):
    """`seq`: the item's last movement when the page was shown."""

    seq = forms.IntegerField(required=False, widget=forms.HiddenInput())
    reason = forms.CharField(required=False, max_length=120)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["seq"] = self.instance.seq


class LedgerAdmin(SiteAdmin):
    ledger: ClassVar[Ledger]
    form = LedgerForm

    def get_exclude(self, request: HttpRequest, obj: Any = None) -> Any:
        # The form has fields of these names, which do not save themselves.
        return [*super().get_exclude(request, obj), "seq", self.ledger.state, *self.ledger.standing]

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        if change:
            fields = (field for field in obj._meta.concrete_fields if not field.primary_key)
            obj.save(update_fields=[field.name for field in fields if field.editable])
        self.record(obj, form.cleaned_data, person_of(request), change)

    def record(self, item: Any, said: dict[str, Any], by: Person, change: bool) -> None:
        """Call the operation that the form asks for, if it asks for any."""
        raise NotImplementedError

    def changeform_view(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        try:
            return super().changeform_view(request, *args, **kwargs)
        except Refused as refusal:
            # Rolled back as a whole; the page shows how things stand now.
            messages.error(request, refusal.say())
            return HttpResponseRedirect(request.path)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """What has a history stays."""
        return False

    def history(self, item: Any) -> SafeString:
        movements = item.movements.select_related("move", "by", "second").order_by("-seq")
        lines = ((_told(item, movement),) for movement in movements)
        return format_html("<ol reversed>{}</ol>", format_html_join("", "<li>{}</li>", lines))


def _told(item: Any, movement: Any) -> str:
    people = [
        one.get_full_name() or one.get_username()
        for one in (movement.by, movement.second)
        if one is not None
    ]
    said = [
        f"{item.site.local(movement.at):%a %d %b %Y %H:%M}",
        str(movement.move),
        " and ".join(people),
        movement.reason,
        f"case {movement.case_ref}" if movement.case_ref else "",
    ]
    return ", ".join(part for part in said if part)
