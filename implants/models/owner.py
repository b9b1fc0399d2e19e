from __future__ import annotations

from django.db import models


class Owner(models.TextChoices):
    """Whose a box is: the house's own, the supplier's until it is used, or lent for a time."""

    OWNED = "owned"
    CONSIGNMENT = "consignment"
    LOAN = "loan"
