"""Keep a photograph of a line of a count."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from trays.errors import TrayRefused
from trays.models import Count, CountPhoto

MOST_BYTES = 3_000_000
KINDS = {b"\xff\xd8\xff": "image/jpeg", b"\x89PNG\r\n\x1a\n": "image/png"}
"""How a file begins → its media type.  By the bytes: what a browser says of it proves nothing."""


@transaction.atomic
def keep_photo(*, count: Count, ref: str, content: bytes, by: Person, now: datetime) -> CountPhoto:
    """TrayRefused: elsewhere, not_on_sheet, photo_unreadable, photo_too_large."""
    if count.tray.site_id != by.site_id:
        raise TrayRefused("elsewhere", what=f"Tray {count.tray.code}")
    line = count.lines.filter(instrument__ref=ref).first()
    if line is None:
        raise TrayRefused("not_on_sheet", instrument=ref, tray=count.tray.code)
    if len(content) > MOST_BYTES:
        raise TrayRefused("photo_too_large", most=MOST_BYTES // 1_000_000)
    kind = next((kind for start, kind in KINDS.items() if content.startswith(start)), None)
    if kind is None:
        raise TrayRefused("photo_unreadable")
    return CountPhoto.objects.create(line=line, kind=kind, content=content, at=now, by=by.user)
