"""What a scenario file says is in the house: catalogue, configurations, trays and shelf."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Mapping
from datetime import date
from zoneinfo import ZoneInfo

from deploy.kit.attributes import ATTRIBUTES
from scheduling.coverage.scenario_fields import (
    MOST_MINUTES,
    MOST_PIECES,
    Entry,
    day_from,
    quantities,
    shown,
)
from scheduling.coverage.values import (
    SUPPLEMENTARY,
    Configuration,
    Implant,
    Instrument,
    Supplier,
    Tray,
    Unit,
)

INSTRUMENT_KEYS = ("ref", "role", "name", *ATTRIBUTES)
SUPPLIER_KEYS = ("code", "order_cut_off", "closed_dates")
IMPLANT_KEYS = (
    "ref",
    "role",
    "name",
    "gtin",
    "lead_days",
    "replaced_on_use",
    "supplier",
    *ATTRIBUTES,
)
CONFIGURATION_KEYS = (
    "code",
    "name",
    "kind",
    "contents",
    "turnaround_minutes",
    "fast_track_minutes",
)
TRAY_KEYS = (
    "code",
    "configuration",
    "location",
    "ready",
    "arrives",
    "withdrawn",
    "sterile_until",
    "missing",
    "note",
)
UNIT_KEYS = (
    "unit",
    "implant",
    "lot",
    "serial",
    "expiry",
    "arrives",
    "location",
    "owner",
    "hold",
)
OWNERS = ("owned", "consignment", "loan")

_MONTH = re.compile(r"([0-9]{4})-([0-9]{2})")


def read_instrument(entry: Entry) -> Instrument:
    return Instrument(
        ref=entry.code("ref"),
        role=entry.code("role"),
        name=entry.text("name"),
        attributes=entry.attributes(),
    )


def read_supplier(entry: Entry) -> Supplier:
    return Supplier(
        code=entry.code("code"),
        order_cut_off_minute=entry.minute_of_day("order_cut_off"),
        closed_dates=entry.days("closed_dates"),
    )


def read_implant(entry: Entry, suppliers: Mapping[str, Supplier] | None) -> Implant:
    supplier = entry.code("supplier") if "supplier" in entry else ""
    if supplier and suppliers is not None and supplier not in suppliers:
        entry.fault("supplier", f"no such supplier: {shown(supplier)}")
    lead = entry.whole("lead_days", least=0, most=MOST_PIECES) if "lead_days" in entry else None
    return Implant(
        ref=entry.code("ref"),
        role=entry.code("role"),
        name=entry.text("name"),
        attributes=entry.attributes(),
        gtin=_gtin(entry),
        lead_days=lead,
        replaced_on_use=entry.truth("replaced_on_use"),
        supplier=(suppliers or {}).get(supplier),
    )


def read_configuration(entry: Entry, instruments: Mapping[str, Instrument] | None) -> Configuration:
    """`instruments` None: they could not be read, so references to them are not judged."""
    kind = entry.code("kind")
    contents: dict[str, int] = {}
    if not entry.lacks("contents"):
        listed = entry.inner("contents")
        contents = quantities(listed)
        for ref in listed.data:
            if instruments is not None and ref not in instruments:
                listed.fault(ref, "no such instrument")
        # Two of the same instrument in one pouch are still one line of one count sheet, so the
        # quantity is free; a second kind of instrument is a tray.
        if kind == SUPPLEMENTARY and listed.is_object and len(listed.data) != 1:
            entry.fault("contents", "a supplementary pack holds exactly one instrument")
    turnaround = entry.whole("turnaround_minutes", least=1, most=MOST_MINUTES)
    fast_track = None
    if "fast_track_minutes" in entry:
        fast_track = entry.whole("fast_track_minutes", least=0, most=MOST_MINUTES)
    if turnaround is not None and fast_track is not None and fast_track > turnaround:
        entry.fault("fast_track_minutes", f"longer than the turnaround: {fast_track}")
    return Configuration(
        code=entry.code("code"),
        kind=kind,
        contents=contents,
        turnaround_minutes=turnaround or 1,
        fast_track_minutes=fast_track,
        name=entry.text("name"),
    )


def read_tray(
    entry: Entry, zone: ZoneInfo, configurations: Mapping[str, Configuration] | None
) -> Tray:
    code = entry.code("configuration")
    configuration = configurations.get(code) if configurations is not None else None
    if code and configurations is not None and configuration is None:
        entry.fault("configuration", f"no such configuration: {shown(code)}")
    said = [key for key in ("ready", "arrives", "withdrawn") if key in entry]
    if entry.is_object and len(said) != 1:
        entry.fault(
            None,
            f"give exactly one of ready, arrives, withdrawn ({', '.join(said) or 'none'} given)",
        )
    withdrawn = entry.truth("withdrawn")
    if entry.data.get("withdrawn") is False:
        entry.fault("withdrawn", "leave it out, or say true")
    return Tray(
        code=entry.code("code"),
        configuration=code,
        ready=entry.moment("ready", zone),
        arrives=entry.moment("arrives", zone),
        withdrawn=withdrawn,
        sterile_until=entry.moment_of_any_year("sterile_until", zone),
        missing=_missing(entry.inner("missing"), configuration),
        location=entry.text("location"),
        note=entry.text("note", lines=True),
    )


def read_unit(entry: Entry, zone: ZoneInfo, implants: Mapping[str, Implant] | None) -> Unit:
    ref = entry.code("implant")
    if ref and implants is not None and ref not in implants:
        entry.fault("implant", f"no such implant: {shown(ref)}")
    return Unit(
        code=entry.code("unit"),
        implant=ref,
        expiry=_expiry(entry),
        lot=entry.text("lot"),
        serial=entry.text("serial"),
        arrives=entry.moment("arrives", zone),
        location=entry.text("location"),
        owner=entry.one_of("owner", OWNERS, "owned"),
        hold=entry.text("hold"),
    )


def _missing(entry: Entry, configuration: Configuration | None) -> dict[str, int]:
    missing = quantities(entry)
    if configuration is not None:
        for ref, quantity in missing.items():
            held = configuration.contents.get(ref, 0)
            if not held:
                entry.fault(ref, f"{configuration.code} does not hold it")
            elif quantity > held:
                entry.fault(ref, f"more than {configuration.code} holds ({held}): {quantity}")
    return missing


def _expiry(entry: Entry) -> date | None:
    """The use-by date.  None only where the file says null: an unknown date is a fault."""
    if entry.lacks("expiry"):
        return None
    value = entry.data["expiry"]
    if value is None:
        return None
    try:
        if not isinstance(value, str):
            raise ValueError
        if match := _MONTH.fullmatch(value):
            year, month = int(match[1]), int(match[2])
            date(year, month, 1)
            return date(year, month, monthrange(year, month)[1])
        return day_from(value)
    except ValueError:
        entry.fault("expiry", f"not a date: {shown(value)} (YYYY-MM-DD, YYYY-MM or null)")
        return None


def _gtin(entry: Entry) -> str:
    """The GTIN as 14 digits, as labels carry it; "" where it is left out.

    Check digit: modulo 10, weights 3 and 1 from the right (GS1 General Specifications).
    """
    if "gtin" not in entry:
        return ""
    value = entry.data["gtin"]
    if not isinstance(value, str) or not re.fullmatch(r"[0-9]{8}|[0-9]{12,14}", value):
        entry.fault("gtin", f"not 8, 12, 13 or 14 digits: {shown(value)}")
        return ""
    gtin = value.zfill(14)
    payload = sum(int(digit) * (3, 1)[index % 2] for index, digit in enumerate(gtin[:13]))
    right = -payload % 10
    if int(gtin[13]) != right:
        entry.fault("gtin", f"check digit should be {right}: {shown(value)}")
    return gtin
