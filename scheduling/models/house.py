from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from deploy.kit.models import Site
from scheduling.coverage.values import DEPARTMENT_STAGES, DepartmentStage

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


CAPACITY_FIELDS = dict(zip(DEPARTMENT_STAGES, ("cleaning", "assembly", "sterilising"), strict=True))
"""Stage of reprocessing → how its two capacity fields begin."""


class HouseSettings(models.Model):
    """The intervals and capacities the house has set for itself.  Settings, not advice.

    Minutes of the day are local: 960 is 16:00.  A stage of reprocessing without places and
    minutes is taken to have room for everything.
    """

    site = models.OneToOneField(Site, on_delete=models.PROTECT, related_name="house")
    needed_before_minutes = models.PositiveIntegerField(
        default=60, help_text="Everything is in theatre this long before the start."
    )
    out_of_theatre_minutes = models.PositiveIntegerField(
        default=15, help_text="From the end of a case until its trays leave theatre."
    )
    shelf_return_minutes = models.PositiveIntegerField(
        default=60, help_text="From there until unused implants are back on the shelf."
    )
    loan_check_in_minutes = models.PositiveIntegerField(
        default=120, help_text="Check-in of a loan tray, in opening minutes."
    )
    loan_hours_ahead = models.PositiveIntegerField(
        default=48,
        help_text="A loan is to be here so many hours before it is needed, or is flagged.",
    )
    order_cut_off_minute = models.PositiveIntegerField(default=16 * 60)
    delivery_minute = models.PositiveIntegerField(default=12 * 60)
    transport_minutes = models.PositiveIntegerField(
        default=0,
        help_text="Between theatre and sterile services, one way, in opening minutes; 0 where both "
        "are in one house.",
    )
    short_dated_days = models.PositiveIntegerField(
        default=90, help_text="A box with a use-by date nearer than this counts as short-dated."
    )

    size_risk_least_cases = models.PositiveIntegerField(
        "least cases for size risk",
        default=30,
        help_text="Own cases on record before a chance is shown that the size used is there.",
    )

    cleaning_places = models.PositiveIntegerField(
        null=True, blank=True, help_text="Trays that the washers take at once."
    )
    cleaning_minutes = models.PositiveIntegerField(null=True, blank=True)
    assembly_places = models.PositiveIntegerField(
        null=True, blank=True, help_text="Benches for inspection and assembly."
    )
    assembly_minutes = models.PositiveIntegerField(null=True, blank=True)
    sterilising_places = models.PositiveIntegerField(
        null=True, blank=True, help_text="Trays that the sterilisers take at once."
    )
    sterilising_minutes = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "house settings"
        constraints = [
            *(
                # "Not null" is said: a comparison with null is unknown, and unknown passes.
                models.CheckConstraint(
                    name=f"scheduling_house_{stage}_both_or_neither",
                    condition=Q(
                        **{
                            f"{stage}_places__isnull": False,
                            f"{stage}_minutes__isnull": False,
                            f"{stage}_places__gte": 1,
                            f"{stage}_minutes__gte": 1,
                        }
                    )
                    | Q(**{f"{stage}_places__isnull": True, f"{stage}_minutes__isnull": True}),
                    violation_error_message="State places and minutes of a stage, or neither.",
                )
                for stage in CAPACITY_FIELDS.values()
            ),
            models.CheckConstraint(
                name="scheduling_house_some_cases",
                condition=Q(size_risk_least_cases__gte=1),
                violation_error_message="Size risk needs a case at least.",
            ),
            models.CheckConstraint(
                name="scheduling_house_minutes_of_day",
                condition=Q(order_cut_off_minute__lt=1440, delivery_minute__lt=1440),
            ),
        ]

    def __str__(self) -> str:
        return f"House settings of {self.site}"

    def department(self) -> tuple[DepartmentStage, ...]:
        """The stages of reprocessing whose capacity the house has stated, in order."""
        return tuple(
            DepartmentStage(stage, places, getattr(self, f"{field}_minutes"))
            for stage, field in CAPACITY_FIELDS.items()
            if (places := getattr(self, f"{field}_places")) is not None
        )


def house_of(site: Site) -> HouseSettings:
    """The house's settings; those that a new house begins with, where none are kept.  One query."""
    return HouseSettings.objects.filter(site=site).first() or HouseSettings(site=site)


def loan_hours_ahead(site: Site) -> int:
    """How many hours before it is needed the house wants a loan here.  One query."""
    return house_of(site).loan_hours_ahead


class OpeningHours(models.Model):
    """Sterile services' hours on one weekday (Monday 0); a weekday without a row is closed."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="opening_hours")
    weekday = models.PositiveSmallIntegerField(choices=list(enumerate(WEEKDAYS)))
    opens_minute = models.PositiveIntegerField(help_text="Minutes after midnight.")
    closes_minute = models.PositiveIntegerField(help_text="1440 is midnight at the day's end.")

    class Meta:
        ordering = ["site", "weekday"]
        verbose_name_plural = "opening hours"
        constraints = [
            models.UniqueConstraint(
                name="scheduling_opening_once_a_day", fields=["site", "weekday"]
            ),
            models.CheckConstraint(
                name="scheduling_opening_in_order",
                condition=Q(
                    weekday__lte=6, opens_minute__lt=F("closes_minute"), closes_minute__lte=1440
                ),
            ),
        ]

    def __str__(self) -> str:
        return WEEKDAYS[self.weekday]


class ClosedDate(models.Model):
    """A day on which sterile services is closed and no order is placed or delivered."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="closed_dates")
    day = models.DateField()

    class Meta:
        ordering = ["day"]
        constraints = [
            models.UniqueConstraint(name="scheduling_closed_date_once", fields=["site", "day"]),
        ]

    def __str__(self) -> str:
        return self.day.isoformat()


class OnCallNight(models.Model):
    """Sterile services can be called in during the night that begins on the day.

    No verdict counts on it: somebody has to ring.  The order of work says what it would save.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="on_call_nights")
    day = models.DateField(help_text="The night that begins on this day.")
    contact = models.CharField(max_length=80, help_text="Whom to ring, and how.")

    class Meta:
        ordering = ["day"]
        verbose_name = "night on call"
        verbose_name_plural = "nights on call"
        constraints = [
            models.UniqueConstraint(name="scheduling_on_call_once", fields=["site", "day"]),
            models.CheckConstraint(name="scheduling_on_call_contact", condition=~Q(contact="")),
        ]

    def __str__(self) -> str:
        return f"{self.day.isoformat()}: {self.contact}"
