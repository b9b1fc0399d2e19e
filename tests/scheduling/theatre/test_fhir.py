"""The export is read by independent models of FHIR R4, and held to what they do not check."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.device import Device
from fhir.resources.R4B.procedure import Procedure

from implants.udi import read_scan
from scheduling.theatre.fhir import record_bundle
from scheduling.theatre.record import CaseRecord, RecordedBox

AT = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)


def box(code: str = "S1", **values: Any) -> RecordedBox:
    said = {
        "role": "stem",
        "words": "stem, size 12, HIGH offset",
        "name": "Maker North Line A revision stem",
        "ref": "NA12H",
        "gtin": "02000010000012",
        "lot": "LX",
        "serial": "17",
        "use_by": date(2031, 12, 31),
        "maker": "Maker North",
        "maker_address": "1 North Road, Ottermere",
        "maker_website": "",
        "side": "left",
        "at": AT,
        "by": "Theatre",
        "second": "",
        "reason": "",
        "override": "",
    }
    return RecordedBox(code=code, **(said | values))


def record(*implanted: RecordedBox, **values: Any) -> CaseRecord:
    said = {
        "site": "Ottermere General",
        "address": "http://127.0.0.1:8000",
        "ref": "OG-1001",
        "status": "ended",
        "side": "left",
        "day": date(2027, 3, 1),
        "theatre": "Theatre 1",
        "surgeon": "Surgeon Ash",
        "procedure": "Revision of the stem, Line A",
        "as_of": AT,
        "clock_is_real": True,
        "wasted": (),
        "trays": ("BASE-B/1",),
    }
    return CaseRecord(implanted=implanted, **(said | values))


def read_back(made: CaseRecord) -> tuple[Bundle, Procedure, list[Device]]:
    bundle = Bundle.model_validate_json(json.dumps(record_bundle(made)))
    first, *rest = [entry.resource for entry in bundle.entry]
    assert isinstance(first, Procedure)
    assert all(isinstance(each, Device) for each in rest)
    return bundle, first, rest


def test_the_bundle_reads_as_fhir_r4():
    bundle, procedure, (device,) = read_back(record(box()))
    assert bundle.type == "collection"
    assert procedure.status == "completed"
    assert procedure.subject.identifier.value == "OG-1001"
    assert procedure.bodySite[0].text == "left hip"
    assert (device.lotNumber, device.serialNumber, device.modelNumber) == ("LX", "17", "NA12H")
    assert device.expirationDate.isoformat().startswith("2031-12-31")
    assert device.manufacturer == "Maker North"
    assert device.udiCarrier[0].deviceIdentifier == "02000010000012"


@pytest.mark.parametrize("number", [0, 1, 7])
def test_every_implant_is_a_device_that_the_procedure_names(number):
    bundle, procedure, devices = read_back(record(*(box(f"S{n}") for n in range(number))))
    urls = [entry.fullUrl for entry in bundle.entry]
    assert len(set(urls)) == len(urls) == number + 1
    named = [each.manipulated.reference for each in procedure.focalDevice or []]
    assert named == urls[1:]
    assert len(devices) == number


def test_the_carrier_reads_back_as_the_box():
    """Our own invariant: what stands in carrierHRF is the device's own identity, read anew."""
    _, _, (device,) = read_back(record(box()))
    scanned = read_scan(device.udiCarrier[0].carrierHRF, today=date(2027, 3, 1))
    assert (scanned.gtin, scanned.lot, scanned.serial) == ("02000010000012", "LX", "17")
    assert scanned.expiry == date(2031, 12, 31)


def test_what_is_not_recorded_is_left_out():
    bare = box(gtin="", lot="", serial="", use_by=None, maker="")
    _, _, (device,) = read_back(record(bare))
    assert device.udiCarrier is None
    assert (device.lotNumber, device.expirationDate, device.manufacturer) == (None, None, None)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("booked", "preparation"),
        ("started", "in-progress"),
        ("ended", "completed"),
        ("cancelled", "not-done"),
    ],
)
def test_the_status_of_the_procedure(ours, theirs):
    assert read_back(record(box(), status=ours))[1].status == theirs


def test_no_patient_and_nobodys_name():
    text = json.dumps(record_bundle(record(box(), surgeon="Surgeon Ash")))
    for said in ("Patient", "Surgeon Ash", '"Theatre"', "birthDate"):
        assert said not in text


def test_the_same_record_has_the_same_ids():
    assert record_bundle(record(box())) == record_bundle(record(box()))
