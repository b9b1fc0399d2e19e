from __future__ import annotations

from django.conf import settings
from django.db import models

from deploy.kit.models import Site


class Theatre(models.Model):
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="theatres")
    code = models.CharField(max_length=64)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(name="scheduling_theatre_code", fields=["site", "code"]),
        ]

    def __str__(self) -> str:
        return self.code


class Surgeon(models.Model):
    """Who plans and confirms a case; `user` is the log-in account, where there is one."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="surgeons")
    name = models.CharField(max_length=120)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="surgeon",
    )

    colleagues = models.ManyToManyField(
        settings.AUTH_USER_MODEL,
        blank=True,
        related_name="plans_for",
        help_text="Who may read this surgeon's cases and plan for them. Confirming stays theirs.",
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(name="scheduling_surgeon_name", fields=["site", "name"]),
        ]

    def __str__(self) -> str:
        return self.name
