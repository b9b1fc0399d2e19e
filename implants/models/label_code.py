from __future__ import annotations

from django.db import models

from deploy.kit.models import Site
from implants.models.implant import Implant


class LabelCode(models.Model):
    """An identity under which labels name a catalogue implant, beside the GTIN of its own row.

    `code`: another GTIN of 14 digits, or the LIC, PCN and unit of measure of a HIBC code.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    implant = models.ForeignKey(Implant, on_delete=models.CASCADE, related_name="label_codes")
    code = models.CharField(
        max_length=40,
        help_text="A GTIN of 14 digits, or LIC, PCN and unit of measure of a HIBC code.",
    )

    class Meta:
        verbose_name = "code on labels"
        verbose_name_plural = "codes on labels"
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(name="implants_label_code_once", fields=["site", "code"]),
            models.CheckConstraint(name="implants_label_code_said", condition=~models.Q(code="")),
        ]

    def __str__(self) -> str:
        return self.code
