"""Which catalogue implant a label names."""

from __future__ import annotations

from deploy.kit.models import Site
from implants.models import Implant
from implants.udi import ScanRead


def implant_on_label(scanned: ScanRead, site: Site) -> Implant | None:
    """The site's implant with the item that was scanned, or None.  Two queries at most."""
    if not scanned.item:
        return None
    catalogue = Implant.objects.filter(site=site)
    own = catalogue.filter(gtin=scanned.gtin).first() if scanned.gtin else None
    return own or catalogue.filter(label_codes__code=scanned.item).first()
