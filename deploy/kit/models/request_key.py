from __future__ import annotations

from django.db import models

from deploy.kit.models.person import Person


class RequestKey(models.Model):
    """One request, one effect: written in the same transaction as the effect it stands for.

    A repeat with the same key gets the first answer again; the same key with another body is
    refused (422).
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=64)
    body_hash = models.CharField(max_length=64)
    answer = models.JSONField()
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(name="kit_request_key_once", fields=["person", "key"]),
        ]
