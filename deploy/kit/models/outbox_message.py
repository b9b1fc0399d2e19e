from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now


class OutboxMessage(models.Model):
    """A message that is to be sent, written in the transaction of what it tells.

    `kind`: what it is (`alert`); `cause`: what it is about, in words of a machine, so that one
    cause is told to one address once; empty where that does not matter.  `next_try_at`: not before
    then; a message that is being sent is set ahead, so that it is tried again should the sender
    die.  `tries` counts what was begun, `fault` is what went wrong last.
    """

    kind = models.CharField(max_length=32)
    to = models.EmailField()
    subject = models.CharField(max_length=200)
    body = models.TextField()
    cause = models.CharField(max_length=200, blank=True)
    put_at = models.DateTimeField(db_default=Now())
    next_try_at = models.DateTimeField(db_default=Now())
    tries = models.PositiveIntegerField(default=0)
    fault = models.CharField(max_length=400, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        default_permissions = ()
        constraints = [
            models.UniqueConstraint(
                name="kit_outbox_cause_told_once",
                fields=["kind", "to", "cause"],
                condition=~Q(cause=""),
            ),
        ]
        indexes = [
            models.Index(
                name="kit_outbox_to_send", fields=["next_try_at"], condition=Q(sent_at=None)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} to {self.to}: {self.subject}"
