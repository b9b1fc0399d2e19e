"""The implant record as a FHIR R4 (4.0.1) Bundle: a Procedure and a Device for each implant.

No Patient and no name: the subject is a logical reference, the case's own.  The pages of the
standard that say what stands where: hl7.org/fhir/R4 procedure, device, bundle.
"""

from __future__ import annotations

from typing import Any
from uuid import NAMESPACE_URL, uuid5

from scheduling.theatre.record import CaseRecord, RecordedBox

Resource = dict[str, Any]

GS1_ISSUER = "http://hl7.org/fhir/NamingSystem/gs1-di"
DEVICE_ACTION = "http://hl7.org/fhir/device-action"
STATUSES = {
    "booked": "preparation",
    "started": "in-progress",
    "ended": "completed",
    "cancelled": "not-done",
}


def record_bundle(record: CaseRecord) -> Resource:
    """The Bundle, type collection.  The same record gives the same ids."""
    devices = [(_urn(record, f"box/{box.code}"), _device(record, box)) for box in record.implanted]
    procedure = _procedure(record, devices)
    entries = [(_urn(record, "procedure"), procedure), *devices]
    return {
        "resourceType": "Bundle",
        "type": "collection",
        "identifier": {"system": f"{record.address}/cases", "value": record.ref},
        "timestamp": record.as_of.isoformat(),
        "entry": [{"fullUrl": url, "resource": resource} for url, resource in entries],
    }


def _urn(record: CaseRecord, what: str) -> str:
    return uuid5(NAMESPACE_URL, f"{record.address}/cases/{record.ref}/{what}").urn


def _procedure(record: CaseRecord, devices: list[tuple[str, Resource]]) -> Resource:
    case = {"system": f"{record.address}/cases", "value": record.ref}
    procedure: Resource = {
        "resourceType": "Procedure",
        "identifier": [case],
        "status": STATUSES[record.status],
        "code": {"text": record.procedure or "not recorded"},
        "subject": {"identifier": case, "display": f"Case {record.ref}, a pseudonym"},
        "performedDateTime": record.day.isoformat(),
    }
    if record.side:
        procedure["bodySite"] = [{"text": f"{record.side} hip"}]
    if record.unsaid:
        unsaid = "; ".join(record.unsaid)
        procedure["note"] = [
            {"text": f"Not complete. Opened, and not said whether implanted or wasted: {unsaid}."}
        ]
    if record.theatre:
        procedure["location"] = {"display": f"{record.theatre}, {record.site}"}
    if devices:
        procedure["focalDevice"] = [
            {
                "action": {"coding": [{"system": DEVICE_ACTION, "code": "implanted"}]},
                "manipulated": {"reference": url, "display": device["deviceName"][0]["name"]},
            }
            for url, device in devices
        ]
    return procedure


def _device(record: CaseRecord, box: RecordedBox) -> Resource:
    device: Resource = {
        "resourceType": "Device",
        "identifier": [{"system": f"{record.address}/boxes", "value": box.code}],
        "status": "active",
        "deviceName": [{"name": box.name or box.words, "type": "user-friendly-name"}],
        "modelNumber": box.ref,
        "type": {"text": box.words},
    }
    if box.gtin:
        device["udiCarrier"] = [
            {"deviceIdentifier": box.gtin, "issuer": GS1_ISSUER, "carrierHRF": box.udi}
        ]
    if box.maker_website:
        device["contact"] = [{"system": "url", "value": box.maker_website}]
    if not box.received:
        device["note"] = [{"text": "Never received by this house: as its label says."}]
    said = {
        "manufacturer": box.maker,
        "lotNumber": box.lot,
        "serialNumber": box.serial,
        "expirationDate": box.use_by.isoformat() if box.use_by else "",
    }
    return device | {key: value for key, value in said.items() if value}
