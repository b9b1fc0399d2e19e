from __future__ import annotations

from django.db import models

from deploy.kit.models.person import Person


class Credential(models.Model):
    """A person's badge, which identifies, and PIN, which authorises.

    `badge_hash` is keyed, so that a badge can be looked up; `pin_hash` is Argon2.  None or empty
    where the person has none.
    """

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="credential")
    badge_hash = models.CharField(max_length=64, unique=True, null=True, editable=False)
    pin_hash = models.CharField(max_length=128, blank=True, editable=False)

    class Meta:
        verbose_name = "badge and PIN"
        verbose_name_plural = "badges and PINs"

    def __str__(self) -> str:
        return f"Badge and PIN of {self.person}"
