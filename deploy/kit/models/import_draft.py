from __future__ import annotations

from django.db import models
from django.db.models.functions import Now

from deploy.kit.models.person import Person
from deploy.kit.models.site import Site


class ImportDraft(models.Model):
    """A workbook that somebody sent: what it would change is shown before it changes anything.

    `kind`: as it stands in addresses.  `data`: the file, until it is written or left.
    `findings`: what reading it found, in the words of the page, None before it was read.
    `rows_read`, `rows_all`: how far reading has come.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=32)
    name = models.CharField(max_length=200, help_text="What the file was called.")
    data = models.BinaryField()
    at = models.DateTimeField(db_default=Now())
    rows_read = models.PositiveIntegerField(default=0)
    rows_all = models.PositiveIntegerField(default=0)
    findings = models.JSONField(null=True)
    refused = models.BinaryField(null=True, help_text="The refused rows as a workbook.")
    second = models.ForeignKey(
        Person,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        help_text="Who signed beside the sender, where it takes two.",
    )
    written_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.kind}: {self.name}"
