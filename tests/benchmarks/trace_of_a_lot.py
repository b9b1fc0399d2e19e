"""How long the trace of one LOT takes in a house of 100,000 boxes.

    manage.py shell -c "from tests.benchmarks.trace_of_a_lot import main; main()"

Makes a site of its own in the database that the environment names (use a scratch one, migrated),
prints the slowest of ten traces in milliseconds, and fails where that is a second or more.
"""

from __future__ import annotations

import time
from datetime import date

from django.contrib.auth.models import Group, User

from deploy.kit.models import Person, Site
from implants.models import Implant, Unit
from implants.operations.shelf import receive_unit
from implants.operations.theatre import pick_unit, record_implanted
from scheduling.tracing.trace import trace

BOXES, LOTS, USED, TRIES = 100_000, 500, 40, 10
MOST_MS = 1000.0


def main() -> None:
    slowest = max(times())
    print(f"{BOXES} boxes, {BOXES // LOTS} in the LOT: at most {slowest:.1f} ms of {TRIES} traces")
    assert slowest < MOST_MS


def times() -> list[float]:
    """Milliseconds, each from the text to the cases."""
    number = Site.objects.count()
    site = Site.objects.create(code=f"benchmark-{number}", name="Benchmark")
    user = User.objects.create(username=f"benchmark-{number}")
    user.groups.add(Group.objects.get(name="implant coordinator"))
    by = Person.objects.create(user=user, site=site)
    stem = Implant.objects.create(site=site, ref="STEM", role="stem")
    Unit.objects.bulk_create(
        (
            Unit(
                site=site,
                implant=stem,
                code=f"B{each}",
                lot=f"L{each % LOTS}",
                expiry=date(2090, 1, 1),
            )
            for each in range(BOXES)
        ),
        batch_size=1000,
    )
    now = site.now()
    for unit in Unit.objects.filter(site=site, lot="L7")[:USED]:
        receive_unit(unit=unit, by=by, now=now)
        pick_unit(unit=unit, case_ref=f"C{unit.pk % 9}", by=by, now=now)
        record_implanted(unit=unit, case_ref=f"C{unit.pk % 9}", by=by, now=now)
    taken = []
    for _ in range(TRIES):
        start = time.perf_counter()
        found = trace(site, "L7")
        taken.append((time.perf_counter() - start) * 1000)
        assert len(found.boxes) == BOXES // LOTS
        assert len(found.cases) == min(9, USED)
    return taken
