from __future__ import annotations

from django.db import models
from django.db.models.functions import Now

from deploy.kit.models.person import Person
from deploy.kit.models.site import Site


class ImportedFile(models.Model):
    """A file that was imported whole, so that it is not imported again.

    Written in the same transaction as what the file changed: rolled back together, so a refused
    file can be sent again.  `kind` is the kind of workbook (`shelf`); `sha256` of its bytes.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=32)
    sha256 = models.CharField(max_length=64)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="kit_imported_file_once", fields=["site", "kind", "sha256"]
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.sha256[:12]}"
