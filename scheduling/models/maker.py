from __future__ import annotations

from django.core.validators import URLValidator
from django.db import models

from deploy.kit.models import Site


class Maker(models.Model):
    """How a maker is reached, as an implant card states it.  `name`: as the catalogue has it."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=120)
    address = models.CharField(max_length=300, blank=True)
    website = models.CharField(max_length=200, blank=True, validators=[URLValidator()])

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(name="scheduling_maker_name", fields=["site", "name"]),
        ]

    def __str__(self) -> str:
        return self.name
