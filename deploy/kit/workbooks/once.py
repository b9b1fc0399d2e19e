"""The same file is imported once."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from deploy.kit.models import ImportedFile, Person


class AlreadyImported(Exception):
    """This file was imported before; `by` whom and when is `at` (UTC)."""

    code = "already_imported"

    def __init__(self, by: Person, at: datetime) -> None:
        self.by, self.at = by, at
        super().__init__(f"imported before by {by} at {at:%Y-%m-%d %H:%M} UTC")


@transaction.atomic
def claim_file(*, kind: str, sha256: str, by: Person) -> ImportedFile:
    """Record that `by` imports this file, at their site.  Raises AlreadyImported.

    Call it inside the import's transaction and before its writes: of two at once, the second
    waits here for the first, and both or neither of claim and changes are kept.
    """
    try:
        with transaction.atomic():
            return ImportedFile.objects.create(site=by.site, kind=kind, sha256=sha256, by=by)
    except IntegrityError:
        earlier = (
            ImportedFile.objects.filter(site=by.site, kind=kind, sha256=sha256)
            .select_related("by__user")
            .first()
        )
        if earlier is None:
            raise
        raise AlreadyImported(earlier.by, earlier.at) from None
