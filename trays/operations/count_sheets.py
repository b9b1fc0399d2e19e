"""Issue a count sheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from trays.models import Configuration, ConfigurationVersion, Content, Instrument


@transaction.atomic
def issue_count_sheet(
    *, configuration: Configuration, contents: Mapping[str, int], by: User, now: datetime
) -> ConfigurationVersion:
    """Make the next version of the count sheet, unless the one in force says the same.

    `contents`: REF → quantity in tray order; KeyError for a REF that the site does not have.
    Older versions stay as they are: trays were assembled to them.
    """
    Configuration.objects.select_for_update().get(pk=configuration.pk)
    in_force = configuration.versions.order_by("-number").first()
    if in_force is not None and contents_of(in_force) == list(contents.items()):
        return in_force
    instruments = {
        instrument.ref: instrument
        for instrument in Instrument.objects.filter(site=configuration.site, ref__in=contents)
    }
    version = configuration.versions.create(
        number=in_force.number + 1 if in_force else 1, made_at=now, made_by=by
    )
    Content.objects.bulk_create(
        Content(version=version, instrument=instruments[ref], quantity=quantity, position=position)
        for position, (ref, quantity) in enumerate(contents.items())
    )
    return version


def contents_of(version: ConfigurationVersion) -> list[tuple[str, int]]:
    """(REF, quantity) in tray order.  One query."""
    return list(version.contents.values_list("instrument__ref", "quantity"))
