"""Write a technique whole."""

from __future__ import annotations

from django.db import transaction

from deploy.kit.models import Person
from scheduling.coverage import values
from scheduling.models import Technique
from scheduling.techniques.rows import add_parts


@transaction.atomic
def write_technique(*, technique: values.Technique, by: Person) -> Technique:
    """The technique of that code at the person's site has this name and these parts, and no
    others.  Plans that follow it are judged by the new parts from then on."""
    row, _ = Technique.objects.update_or_create(
        site=by.site, code=technique.code, defaults={"name": technique.name}
    )
    for parts in (row.sets, row.rules, row.checks, row.confirmations):
        parts.all().delete()
    add_parts([(row, technique)])
    return row
