"""Take a measured time into the house's settings."""

from __future__ import annotations

from django.db import transaction

from deploy.kit.models import Person
from scheduling.errors import NotUsable
from scheduling.models import HouseSettings
from scheduling.models.house import CAPACITY_FIELDS


@transaction.atomic
def accept_stage_minutes(*, stage: str, minutes: int, places: int, by: Person) -> HouseSettings:
    """A step takes so many opening minutes here, for so many trays at once; forecasts follow.

    NotUsable with all faults.
    """
    faults = [] if stage in CAPACITY_FIELDS else [f"stage: there is no step “{stage}”"]
    faults += [] if minutes >= 1 else ["minutes: 1 or more"]
    faults += [] if places >= 1 else ["places: how many trays at once, 1 or more"]
    if faults:
        raise NotUsable("stage_minutes_invalid", faults)
    house, _ = HouseSettings.objects.select_for_update().get_or_create(site=by.site)
    field = CAPACITY_FIELDS[stage]
    setattr(house, f"{field}_minutes", minutes)
    setattr(house, f"{field}_places", places)
    house.save(update_fields=[f"{field}_minutes", f"{field}_places"])
    return house
