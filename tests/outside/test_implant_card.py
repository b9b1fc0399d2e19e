"""What an implant card has to state, and who gets one; what a registry asks of a component.

Source of the card: Regulation (EU) 2017/745 (MDR), Art. 18(1)(a) and Art. 18(3).
Source of the registry's fields: EFORT Open Rev 2019;4:344 (LROI, the Dutch arthroplasty register).
"""

from __future__ import annotations

import io
from datetime import UTC, date, datetime

import openpyxl
import pypdfium2
import pytest
from django.template.loader import render_to_string

from scheduling.theatre.fhir import record_bundle
from scheduling.theatre.record import CaseRecord, RecordedBox
from scheduling.theatre.record_book import record_workbook
from scheduling.theatre.record_pdf import record_pdf

AT = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)

# MDR Art. 18(1)(a): device name, serial, lot, UDI, model, the maker's name, address and website.
CARD = {
    "device name": "Revision stem A",
    "serial number": "SN-17",
    "lot number": "LOT-4711",
    "UDI": "(01)02000010000012(17)311231(10)LOT-4711(21)SN-17",
    "device model": "NA12H-225",
    "maker's name": "Maker North",
    "maker's address": "1 Invented Road",
    "maker's website": "https://maker-north.example/",
}

# MDR Art. 18(3): these need no card.  Those that a hip meets; the dental ones are left out.
EXEMPT = ("suture", "staple", "screw", "wedge", "plate", "wire", "pin", "clip", "connector")
# By inference from the two lists, not in the text: these stay in a hip.
CARRIED = ("stem", "head", "shell", "cup", "liner")
INFERRED_EXEMPT = ("cup screw", "cable")


def box(role: str = "stem") -> RecordedBox:
    return RecordedBox(
        code="B1",
        role=role,
        words="stem, size 12",
        name=CARD["device name"],
        ref=CARD["device model"],
        gtin="02000010000012",
        lot=CARD["lot number"],
        serial=CARD["serial number"],
        use_by=date(2031, 12, 31),
        maker=CARD["maker's name"],
        maker_address=CARD["maker's address"],
        maker_website=CARD["maker's website"],
        side="left",
        at=AT,
        by="Theatre",
        second="",
        reason="",
        override="",
    )


RECORD = CaseRecord(
    site="Ottermere General",
    address="http://127.0.0.1:8000",
    ref="OG-1001",
    status="ended",
    side="left",
    day=date(2027, 3, 1),
    theatre="Theatre 1",
    surgeon="Surgeon Ash",
    procedure="Revision of the stem",
    as_of=AT,
    clock_is_real=True,
    implanted=(box(),),
    wasted=(),
    trays=(),
)


def page() -> str:
    said = {"title": "Implanted", "boxes": RECORD.implanted, "none": ""}
    shown = render_to_string("scheduling/theatre/_recorded.html", said)
    return shown.replace('</span><wbr><span class="nowrap">', "")


def paper() -> str:
    return str(pypdfium2.PdfDocument(record_pdf(RECORD))[0].get_textpage().get_text_bounded())


def workbook() -> str:
    sheet = openpyxl.load_workbook(io.BytesIO(record_workbook(RECORD)))["Implanted"]
    return "\n".join(str(cell) for row in sheet.iter_rows(values_only=True) for cell in row)


@pytest.mark.parametrize("medium", [page, paper, workbook])
@pytest.mark.parametrize("field", CARD)
def test_the_record_states_what_a_card_states(medium, field):
    assert CARD[field] in medium()


def test_the_export_states_it_but_for_the_address_for_which_a_device_has_no_field():
    device = record_bundle(RECORD)["entry"][1]["resource"]
    said = {
        "device name": device["deviceName"][0]["name"],
        "serial number": device["serialNumber"],
        "lot number": device["lotNumber"],
        "UDI": device["udiCarrier"][0]["carrierHRF"],
        "device model": device["modelNumber"],
        "maker's name": device["manufacturer"],
        "maker's website": device["contact"][0]["value"],
    }
    assert said == {key: value for key, value in CARD.items() if key != "maker's address"}


@pytest.mark.parametrize("role", [*EXEMPT, *INFERRED_EXEMPT])
def test_these_need_no_card(role):
    assert not box(role).is_on_a_card


@pytest.mark.parametrize("role", CARRIED)
def test_these_need_one(role):
    assert box(role).is_on_a_card


def test_a_registry_gets_catalogue_number_and_lot_of_each_component():
    device = record_bundle(RECORD)["entry"][1]["resource"]
    assert (device["modelNumber"], device["lotNumber"]) == ("NA12H-225", "LOT-4711")
