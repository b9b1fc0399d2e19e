from __future__ import annotations

from django.conf import settings
from django.db import models

from deploy.kit.models.site import Site


class Person(models.Model):
    """Who acts: a log-in account's place of work.  The role is the account's group."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="person"
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="people")

    def __str__(self) -> str:
        return self.user.get_full_name() or self.user.get_username()
