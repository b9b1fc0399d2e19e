"""Why a box was opened and not used: the list that theatre chooses from."""

from __future__ import annotations

from django.db import models


class WasteReason(models.TextChoices):
    DROPPED = "dropped"
    NOT_USED = "opened, not used"
    OTHER_SIZE = "other size used"
    WRONG_BOX = "wrong box opened"
    PACK = "pack damaged, wet or not sealed"
    CONTENT = "content differs from the label"
    OTHER = "other"
