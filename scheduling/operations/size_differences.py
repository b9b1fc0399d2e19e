"""Accept how far the size used lies from the size planned, as the record says it now."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from deploy.kit.models import Person
from implants.models import Implant
from scheduling.errors import Refused
from scheduling.facts import exactly
from scheduling.models import SizeDifference, Surgeon
from scheduling.size_risk.difference import Rungs
from scheduling.size_risk.kept import implanted_sizes, least_cases
from scheduling.size_risk.ladders import sizes_made
from scheduling.size_risk.record import Line, records


@transaction.atomic
def accept_size_difference(
    *, line: Line, seen: Mapping[Rungs, int], by: Person, now: datetime, surgeon: str = ""
) -> SizeDifference:
    """From now on size risk on this line rests on the record as it stands; earlier ones stay kept.

    `surgeon`: for this surgeon's cases, on the record of these alone.  `seen`: the record that the
    person looked at.  Refused: size_record_changed, where it is another by now;
    size_record_too_small.
    """
    catalogue = Implant.objects.filter(site=by.site, role=line.role)
    made = sizes_made((item.role, exactly(item.attributes)) for item in catalogue)
    record = records(implanted_sizes(by.site), made).get(line)
    counts = dict(record.of(surgeon)) if record else {}
    if counts != dict(seen):
        of = f"{line.role} {line.system}".strip()
        raise Refused("size_record_changed", line=f"{of}, {surgeon}" if surgeon else of)
    least = least_cases(by.site)
    if sum(counts.values()) < least:
        raise Refused("size_record_too_small", cases=sum(counts.values()), least=least)
    return SizeDifference.objects.create(
        site=by.site,
        role=line.role,
        system=line.system,
        surgeon=Surgeon.objects.get(site=by.site, name=surgeon) if surgeon else None,
        record={str(rungs): number for rungs, number in counts.items()},
        by=by.user,
        at=now,
    )
