"""What every catalogue row shares: the abstract base and its validation."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from deploy.kit.attributes import ATTRIBUTES, Value, in_words
from deploy.kit.models.site import Site


def check_attributes(attributes: Any) -> None:
    """Refuse, all at once, unknown attributes and values that are neither text nor number."""
    if not isinstance(attributes, dict):
        raise ValidationError("attributes are a mapping of name to value")
    faults = []
    for key, value in attributes.items():
        if key not in ATTRIBUTES:
            faults.append(f"unknown attribute {key!r} (known: {', '.join(ATTRIBUTES)})")
        elif isinstance(value, bool) or not isinstance(value, str | int | float):
            faults.append(f"{key}: neither a text nor a number")
        elif value == "":
            faults.append(f"{key}: leave it out when it has no value")
    if faults:
        raise ValidationError(faults)


def exact(value: Any) -> Value:
    """A JSON value as the engine wants it: decimals exact, never a float."""
    return Decimal(repr(value)) if isinstance(value, float) else value


class CatalogueRow(models.Model):
    """A kind of thing: reference, role and the attributes that it has.

    Attributes are sparse by role (a head has no offset, a cable nothing at all) and may be
    numbers or the maker's texts, so they are one JSON object; `deploy.kit.attributes` is the
    table of what may stand in it.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    ref = models.CharField("REF", max_length=64)
    role = models.CharField(max_length=64)
    name = models.CharField(max_length=200, blank=True)
    attributes = models.JSONField(default=dict, blank=True, validators=[check_attributes])

    class Meta:
        abstract = True
        ordering = ["ref"]

    def __str__(self) -> str:
        return f"{self.ref} {self.in_words()}".strip()

    def exact_attributes(self) -> dict[str, Value]:
        return {key: exact(value) for key, value in self.attributes.items()}

    def in_words(self) -> str:
        """Role and attributes: `stem, size 12, HIGH offset, 225 mm`."""
        words = in_words(self.exact_attributes())
        return f"{self.role}, {words}" if words else self.role
