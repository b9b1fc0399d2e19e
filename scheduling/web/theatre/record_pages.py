"""The implant record of a case: on a page, on paper, as FHIR R4 and as a workbook."""

from __future__ import annotations

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_safe

from deploy.kit.doors import requires
from scheduling.access import case_for
from scheduling.pick_lists.paper import Paper
from scheduling.theatre.fhir import record_bundle
from scheduling.theatre.record import CaseRecord, case_record
from scheduling.theatre.record_book import record_workbook
from scheduling.theatre.record_pdf import record_pdf
from scheduling.web.requests import PersonsRequest

READERS = ("scheduling.read_cases", "scheduling.read_own_cases")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@requires(*READERS)
@require_safe
def page(request: PersonsRequest, pk: int) -> HttpResponse:
    record = _record(request, pk)
    shown = {"case_pk": pk, "record": record, "as_of": record.as_of}
    return _fresh(render(request, "scheduling/theatre/record.html", shown))


@requires(*READERS)
@require_safe
def pdf(request: PersonsRequest, pk: int) -> HttpResponse:
    record = _record(request, pk)
    letter = request.GET.get("paper") == Paper.LETTER.value
    file = record_pdf(record, Paper.LETTER if letter else Paper.A4)
    return _file(HttpResponse(file, content_type="application/pdf"), record, "pdf", "inline")


@requires(*READERS)
@require_safe
def workbook(request: PersonsRequest, pk: int) -> HttpResponse:
    record = _record(request, pk)
    return _file(HttpResponse(record_workbook(record), content_type=XLSX), record, "xlsx")


@requires(*READERS)
@require_safe
def fhir(request: PersonsRequest, pk: int) -> HttpResponse:
    record = _record(request, pk)
    answer = JsonResponse(record_bundle(record), content_type="application/fhir+json")
    return _file(answer, record, "json")


def _record(request: PersonsRequest, pk: int) -> CaseRecord:
    return case_record(case_for(request.person, pk))


def _file(
    answer: HttpResponse, record: CaseRecord, ending: str, how: str = "attachment"
) -> HttpResponse:
    named = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in record.ref)
    answer["Content-Disposition"] = f'{how}; filename="implant-record-{named}.{ending}"'
    return _fresh(answer)


def _fresh(answer: HttpResponse) -> HttpResponse:
    add_never_cache_headers(answer)
    return answer
