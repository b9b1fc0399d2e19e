from __future__ import annotations

from django.db import models

from deploy.kit.models import Site


class TaperPair(models.Model):
    """A stem taper and a head taper that the makers declare to go together.

    The house enters it from the makers' documents; a pair without a row is not known, also where
    both names are the same.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    stem_taper = models.CharField(max_length=64, help_text="As the catalogue names it.")
    head_taper = models.CharField(max_length=64, help_text="As the catalogue names it.")
    document = models.CharField(
        max_length=200, help_text="Where the makers declare it: document, version, page."
    )

    class Meta:
        ordering = ["stem_taper", "head_taper"]
        constraints = [
            models.UniqueConstraint(
                name="scheduling_taper_pair_once", fields=["site", "stem_taper", "head_taper"]
            ),
        ]

    def __str__(self) -> str:
        return f"stem taper {self.stem_taper}, head taper {self.head_taper}"
