"""A box that the house never received: what its label says is kept in the case's record."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods, require_POST

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.signed_act import second_person
from implants.identify import implant_on_label
from implants.models import Implant, Unit
from implants.states import IN_THE_HOUSE
from implants.udi import ScanError, read_scan
from scheduling.access import case_for
from scheduling.models import Case, LabelCheck, OutsideBox, Used
from scheduling.operations.outside_boxes import Label, record_outside_box, void_outside_box
from scheduling.web.requests import PersonsRequest
from scheduling.web.theatre.second import SAID, SECOND_SIGNER

NAMED = 12
"""Of so many boxes of the same REF and LOT the codes are read out; of the rest, how many."""


class OutsideForm(forms.Form):
    """What the label says and what came of the box; `label()` once it is valid."""

    outcome = forms.ChoiceField(label="What came of it", choices=Used.choices)
    role = forms.CharField(max_length=64, help_text="Such as stem, head, screw.")
    words = forms.CharField(label="Description and size", max_length=120)
    maker = forms.CharField(max_length=120)
    ref = forms.CharField(label="REF", max_length=64)
    lot = forms.CharField(label="LOT", max_length=40, required=False)
    serial = forms.CharField(max_length=40, required=False)
    use_by = forms.DateField(
        label="Use by",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    does_not_expire = forms.BooleanField(label="The label states no date", required=False)
    gtin = forms.CharField(
        label="GTIN", max_length=14, required=False, help_text="Where the label has one."
    )
    reason = forms.CharField(label="Why was it not received?", max_length=120)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        for name, field in self.fields.items():
            if name not in ("outcome", "does_not_expire"):
                field.widget.attrs["autocomplete"] = "off"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "use_by" in cleaned and bool(cleaned["use_by"]) is cleaned["does_not_expire"]:
            self.add_error("use_by", "Give the date, or tick that the label states none.")
        if not (cleaned.get("lot") or cleaned.get("serial")):
            self.add_error("lot", "The LOT or the serial, as the label has it.")
        return cleaned

    def label(self) -> Label:
        given = self.cleaned_data
        names = ("role", "words", "maker", "ref", "lot", "serial", "use_by", "gtin")
        return Label(**{name: given[name] for name in names})


@requires("scheduling.record_use")
@require_http_methods(["GET", "HEAD", "POST"])
def outside(request: PersonsRequest, pk: int) -> HttpResponse:
    """`?check=`: the label that was read, to begin with.  POST: record it, signed by two."""
    case = case_for(request.person, pk)
    check = _check(case, request.POST.get("check", request.GET.get("check", "")))
    if request.method != "POST":
        return _page(request, case, check, OutsideForm(initial=_said(case, check)))
    form = OutsideForm(request.POST)
    if not form.is_valid():
        return _page(request, case, check, form, 400)
    try:
        what = f"record a box never received for case {case.ref}"
        box = record_outside_box(
            case=case,
            label=form.label(),
            outcome=Used(form.cleaned_data["outcome"]),
            reason=form.cleaned_data["reason"],
            by=request.person,
            second=second_person(request, SECOND_SIGNER, act=what),
            now=case.site.now(),
            read=check.read if check else "",
        )
    except Refused as refusal:
        messages.error(request, f"Not recorded. {refusal.say()}")
        return _page(request, case, check, form, refusal.status)
    messages.success(request, f"{box} is recorded as {box.outcome}, never received here.")
    return redirect("in_theatre", case.pk)


@requires("scheduling.record_use")
@require_POST
def outside_void(request: PersonsRequest, pk: int) -> HttpResponse:
    """Two people say that an entry was an error."""
    case = case_for(request.person, pk)
    key = request.POST.get("box", "")
    box = case.outside_boxes.filter(pk=key if key.isdecimal() else 0).first()
    if box is None:
        raise Http404("no such entry")
    # A reason that was refused with its signature stands there still.
    request.session[SAID] = {"void": box.pk, "reason": request.POST.get("reason", "")[:120]}
    try:
        void_outside_box(
            box=box,
            reason=request.POST.get("reason", ""),
            by=request.person,
            second=second_person(request, SECOND_SIGNER, act=f"take {box} off case {case.ref}"),
            now=case.site.now(),
        )
    except Refused as refusal:
        messages.error(request, f"Nothing was changed. {refusal.say()}")
    else:
        messages.success(request, f"{box} is off the record: entered in error.")
    return redirect("in_theatre", case.pk)


def _page(
    request: PersonsRequest,
    case: Case,
    check: LabelCheck | None,
    form: OutsideForm,
    status: int = 200,
) -> HttpResponse:
    alike = _alike(case, form)
    page = {
        "case": case,
        "check": check,
        "form": form,
        "alike": alike[:NAMED],
        "more": len(alike[NAMED:]),
    }
    response = render(request, "scheduling/theatre/outside.html", page, status=status)
    add_never_cache_headers(response)
    return response


def _check(case: Case, key: str) -> LabelCheck | None:
    return LabelCheck.objects.filter(pk=key, case=case).first() if key.isdecimal() else None


def _said(case: Case, check: LabelCheck | None) -> dict[str, Any]:
    """What the label says, and of the catalogue's item what the catalogue says.  3 queries."""
    if check is None:
        return {}
    today = case.site.local(case.site.now()).date()
    try:
        read = read_scan(check.read, today=today)
    except ScanError:
        return {}
    implant = implant_on_label(read, case.site)
    said = {"gtin": read.gtin, "lot": read.lot, "serial": read.serial, "use_by": read.expiry}
    return said | (_of_catalogue(implant) if implant else {})


def _of_catalogue(implant: Implant) -> dict[str, Any]:
    return {
        "role": implant.role,
        "words": implant.in_words(),
        "maker": implant.maker,
        "ref": implant.ref,
    }


def _alike(case: Case, form: OutsideForm) -> list[Unit]:
    """Boxes of the house that the label may be on after all: the same REF and LOT."""
    ref, lot = form["ref"].value(), form["lot"].value()
    if not ref or not lot:
        return []
    alike = Unit.objects.filter(site=case.site_id, implant__ref=ref, lot=lot)
    return list(alike.filter(state__in=IN_THE_HOUSE).order_by("code"))


def outside_boxes(case: Case) -> list[OutsideBox]:
    """Those that stand.  One query."""
    return list(case.outside_boxes.filter(void=None))
