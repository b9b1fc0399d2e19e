"""Labels of boxes as a scanner sends them."""

from __future__ import annotations

from implants.models import Implant
from tests import factories

GTIN = "02345678901234"


def stem(site, ref="STEM-12", gtin=GTIN, **attributes) -> Implant:
    attributes = {"size": 12, "offset": "high", "length": 225} | attributes
    implant = factories.implant(site, ref, "stem", **attributes)
    implant.gtin = gtin
    implant.save()
    return implant


def label(lot="L1", serial="7", use_by="311231", gtin=GTIN) -> str:
    text = f"]d201{gtin}" + (f"17{use_by}" if use_by else "")
    text += f"10{lot}\x1d" if lot else ""
    return text + (f"21{serial}" if serial else "")
