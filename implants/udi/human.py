"""The human readable form of a device's identity: `(01)…(17)…(10)…(21)…`."""

from __future__ import annotations

from datetime import date

from implants.udi.dates import write_date


def human_readable(
    gtin: str, *, expiry: date | None = None, lot: str = "", serial: str = ""
) -> str:
    """What stands beside the code on a label; empty without a GTIN, which alone names a device."""
    if not gtin:
        return ""
    parts = [f"(01){gtin}"]
    parts += [f"(17){write_date(expiry)}"] if expiry else []
    parts += [f"(10){lot}"] if lot else []
    parts += [f"(21){serial}"] if serial else []
    return "".join(parts)
