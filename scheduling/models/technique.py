from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q

from deploy.kit.models import Site
from scheduling.coverage.values import Need


class Technique(models.Model):
    """The rules from a plan to what the case needs.  Its parts are kept in the scenario
    format's own JSON, which `scheduling.techniques` reads, checks and says in words."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="techniques")
    code = models.CharField(max_length=64)
    name = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(name="scheduling_technique_code", fields=["site", "code"]),
        ]

    def __str__(self) -> str:
        return self.name or self.code


class TechniquePart(models.Model):
    """A row of a technique; `when` is a condition: path to value or list of values."""

    position = models.PositiveIntegerField(default=0)
    when = models.JSONField(default=dict, blank=True)

    class Meta:
        abstract = True
        ordering = ["position", "id"]


class TechniqueSet(TechniquePart):
    """A set of trays: `options` in order of preference, each a list of configuration codes."""

    technique = models.ForeignKey(Technique, on_delete=models.CASCADE, related_name="sets")
    purpose = models.CharField(max_length=120)
    options = models.JSONField()

    class Meta(TechniquePart.Meta):
        constraints = [
            models.UniqueConstraint(
                name="scheduling_set_purpose_once", fields=["technique", "purpose"]
            ),
        ]

    def __str__(self) -> str:
        return self.purpose


class TechniqueRule(TechniquePart):
    """One rule: a role, a selection, a level of need, a quantity."""

    technique = models.ForeignKey(Technique, on_delete=models.CASCADE, related_name="rules")
    role = models.CharField(max_length=64)
    need = models.CharField(max_length=16, choices=[(n.value, n.value) for n in Need])
    select: Any = models.JSONField(default=dict, blank=True)
    quantity = models.PositiveIntegerField(default=1)

    class Meta(TechniquePart.Meta):
        constraints = [
            models.CheckConstraint(
                name="scheduling_rule_quantity",
                condition=Q(quantity__gte=1, need__in=[n.value for n in Need]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.need} {self.role}"


class TechniqueCheck(TechniquePart):
    """`equal`: a path on each side.  `at least`: a list of terms on each side."""

    KINDS = [("equal", "equal"), ("at least", "at least")]

    technique = models.ForeignKey(Technique, on_delete=models.CASCADE, related_name="checks")
    code = models.CharField(max_length=200)
    kind = models.CharField(max_length=16, choices=KINDS)
    left = models.JSONField()
    right = models.JSONField()

    class Meta(TechniquePart.Meta):
        constraints = [
            models.UniqueConstraint(
                name="scheduling_check_code_once", fields=["technique", "code"]
            ),
            models.CheckConstraint(
                name="scheduling_check_kind", condition=Q(kind__in=["equal", "at least"])
            ),
        ]

    def __str__(self) -> str:
        return self.code


class TechniqueConfirmation(TechniquePart):
    """A human answer that the technique asks for."""

    technique = models.ForeignKey(Technique, on_delete=models.CASCADE, related_name="confirmations")
    code = models.CharField(max_length=200)

    class Meta(TechniquePart.Meta):
        constraints = [
            models.UniqueConstraint(
                name="scheduling_confirmation_code_once", fields=["technique", "code"]
            ),
        ]

    def __str__(self) -> str:
        return self.code
