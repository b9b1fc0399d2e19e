from __future__ import annotations

from django.conf import settings
from django.db import models


class OneTimeCode(models.Model):
    """Lets an account choose its first password, once and for a day.  Only its hash is kept."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    code_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
