from __future__ import annotations

import io
import json

import pytest
from django.urls import reverse
from fhir.resources.R4B.bundle import Bundle
from openpyxl import load_workbook
from pypdfium2 import PdfDocument

from implants.models import Implant
from scheduling.models import Maker
from scheduling.operations.theatre_boxes import record_implanted, record_wasted
from scheduling.operations.theatre_checks import check_label, open_box
from scheduling.theatre.waste import WasteReason
from tests.factories import NOW
from tests.scheduling.theatre.hip import Hip, hip

PAGES = (
    "implant_record",
    "implant_record_pdf",
    "implant_record_workbook",
    "implant_record_fhir",
)
UDI = "(01)02000000000015(17)311231(10)L-STEM"


@pytest.fixture
def of(site, theatre_team) -> Hip:
    """The stem is implanted, the head was dropped."""
    of = hip(site)
    Implant.objects.filter(ref="ST-12").update(gtin="02000000000015")
    Maker.objects.create(site=site, name="Maker North", address="1 North Road")
    for code in ("STEM", "HEAD"):
        made = check_label(case=of.case, text=code, by=theatre_team, now=NOW)
        open_box(check=made, by=theatre_team, now=NOW)
    said = {"case": of.case, "by": theatre_team, "now": NOW}
    record_implanted(unit=of.boxes["STEM"], **said)
    record_wasted(unit=of.boxes["HEAD"], why=WasteReason.DROPPED, **said)
    return of


@pytest.fixture
def get(of, manager, client_of):
    def answer(name, by=manager):
        return client_of(by).get(reverse(name, args=[of.case.pk]))

    return answer


def test_the_page_has_every_field_of_a_card(get):
    page = get("implant_record").content.decode()
    for said in ("stem, size 12, HIGH offset", "REF ST-12", "LOT L-STEM", "31 Dec 2031"):
        assert said in page
    assert UDI in page.replace('</span><wbr><span class="nowrap">', "")
    for said in ("Maker North", "1 North Road", "LEFT", "07:00, Theatre", "dropped"):
        assert said in page


def test_the_print_has_room_for_labels(get):
    answer = get("implant_record_pdf")
    assert answer["Content-Disposition"] == 'inline; filename="implant-record-C1.pdf"'
    text = PdfDocument(answer.content)[0].get_textpage().get_text_range()
    for said in ("Implant record, case C1, LEFT", "Page 1 of 1", "use by 31 Dec 2031", UDI):
        assert said in text
    assert text.count("label of the box") == 2


def test_the_workbook_has_a_row_a_box(get):
    book = load_workbook(io.BytesIO(get("implant_record_workbook").content))
    header, row = [[cell.value for cell in each] for each in book["Implanted"].iter_rows()]
    said = dict(zip(header, row, strict=True))
    assert (said["REF"], said["LOT"], said["UDI"]) == ("ST-12", "L-STEM", UDI)
    assert [row[3].value for row in book["Wasted"].iter_rows(min_row=2)] == ["head"]


def test_the_fhir_export_is_valid(get):
    answer = get("implant_record_fhir")
    assert answer["Content-Type"] == "application/fhir+json"
    bundle = Bundle.model_validate(json.loads(answer.content))
    assert [entry.resource.get_resource_type() for entry in bundle.entry] == ["Procedure", "Device"]


def test_a_box_that_was_opened_and_never_spoken_of_makes_the_record_incomplete(
    of, get, theatre_team
):
    assert "Not complete" not in get("implant_record").content.decode()
    made = check_label(case=of.case, text="LINER", by=theatre_team, now=NOW)
    open_box(check=made, by=theatre_team, now=NOW)
    words = f"{of.boxes['LINER'].implant.in_words()}, REF"
    page = get("implant_record").content.decode()
    assert "Not complete: 1 opened, and not said whether implanted or wasted." in page
    assert words in page
    print_ = PdfDocument(get("implant_record_pdf").content)[0].get_textpage().get_text_range()
    assert "Not complete" in print_
    assert "box LINER" in print_
    book = load_workbook(io.BytesIO(get("implant_record_workbook").content))
    assert [row[1].value for row in book["Opened, not said"].iter_rows(min_row=2)] == [
        f"{words} {of.boxes['LINER'].implant.ref}, LOT {of.boxes['LINER'].lot}, box LINER"
    ]
    bundle = Bundle.model_validate(json.loads(get("implant_record_fhir").content))
    assert "box LINER" in bundle.entry[0].resource.note[0].text


class TestDoors:
    def test_refuses_the_stranger(self, get, stranger):
        assert [get(name, by=stranger).status_code for name in PAGES] == [404] * 4

    def test_another_surgeon(self, get, other_surgeon):
        assert [get(name, by=other_surgeon).status_code for name in PAGES] == [404] * 4

    def test_the_surgeon_of_the_case(self, of, get, surgeon):
        of.case.surgeon = surgeon.user.surgeon
        of.case.save()
        assert [get(name, by=surgeon).status_code for name in PAGES] == [200] * 4


def test_costs_a_fixed_number_of_queries(of, manager, client_of, django_assert_num_queries):
    client = client_of(manager)
    with django_assert_num_queries(10):
        client.get(reverse("implant_record", args=[of.case.pk]))
