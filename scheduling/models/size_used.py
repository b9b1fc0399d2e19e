from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from implants.models import Implant, Unit
from scheduling.models.case import Case
from scheduling.models.outside_box import OutsideBox


class SizeUsed(models.Model):
    """What was planned and what was used, a row for each implant that the plan names by role.

    `unit`: the box of the house that it came out of; `outside`: one that was never received here.
    The house's own record of how far the used size lies from the planned one.  `planned`: the
    attributes of the plan's component, as the plan in force had them then.
    """

    case = models.ForeignKey(Case, on_delete=models.PROTECT, related_name="sizes_used")
    role = models.CharField(max_length=64)
    planned = models.JSONField(default=dict)
    used = models.ForeignKey(Implant, on_delete=models.PROTECT, related_name="+")
    unit = models.OneToOneField(Unit, on_delete=models.PROTECT, null=True, related_name="+")
    outside = models.OneToOneField(
        OutsideBox, on_delete=models.PROTECT, null=True, related_name="+"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                name="scheduling_size_used_one_box",
                condition=Q(unit__isnull=False, outside__isnull=True)
                | Q(unit__isnull=True, outside__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.case}: {self.role} {self.used.ref}"
