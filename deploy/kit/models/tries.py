from __future__ import annotations

from django.db import models


class Tries(models.Model):
    """How often a secret was tried for one subject, lately; `key` is a keyed hash of both."""

    key = models.CharField(max_length=64, unique=True)
    number = models.PositiveIntegerField()
    last_at = models.DateTimeField(db_index=True)

    class Meta:
        verbose_name_plural = "tries"
