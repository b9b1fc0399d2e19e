from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone


def is_timezone(name: str) -> None:
    """Refuse a time zone that this machine's IANA database does not know."""
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError) as error:
        raise ValidationError(f"not an IANA time zone: {name!r}") from error


class Site(models.Model):
    """A hospital with its own trays, shelf and theatres.  Sites are independent problems.

    `clock_set_to` is for demonstrations and recorded scenarios only: the site then lives at that
    moment, standing still, or running on since `clock_started` where that is given.  Every page
    says so; a real site has neither.
    """

    code = models.SlugField(unique=True, help_text="Short code, in addresses.")
    name = models.CharField(max_length=120)
    timezone = models.CharField(max_length=64, default="UTC", validators=[is_timezone])
    address = models.URLField(
        default="http://127.0.0.1:8000",
        help_text="The address that printed codes open, without a slash at the end.",
    )
    asset_prefix = models.CharField(
        max_length=12,
        default="0299999",
        help_text="GS1 company prefix of the site's own assets (trays), digits only.",
    )
    clock_set_to = models.DateTimeField(null=True, blank=True)
    clock_started = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="kit_site_clock_started_needs_set_to",
                condition=models.Q(clock_started__isnull=True)
                | models.Q(clock_set_to__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.timezone)

    @property
    def clock_is_real(self) -> bool:
        return self.clock_set_to is None

    def now(self) -> datetime:
        """The site's present moment, to the minute: "as of", and what the engine reckons with."""
        moment = timezone.now()
        if self.clock_set_to is not None:
            ran = moment - self.clock_started if self.clock_started else moment - moment
            moment = self.clock_set_to + ran
        return moment.replace(second=0, microsecond=0)

    def local(self, moment: datetime) -> datetime:
        """`moment` as the site's clocks on the wall show it."""
        return moment.astimezone(self.zone)
