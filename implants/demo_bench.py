"""A morning at the demonstration's shelf: boxes received, a place counted, a recall half retrieved.

All of it through the operations, so that every record is one that people could have made.  None of
the boxes that come is one that a booked case lacks.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction

from deploy.kit.models import Person, Site
from implants.models import Implant, Unit
from implants.operations.bench import scan_at_bench
from implants.operations.counts import Explanation, close_count, open_count, scan_at_count
from implants.operations.recalls import open_recall, retrieve_box
from implants.recalls.notice import Named

RECALLED_REF, RECALLED_LOT = "SC64", "R550172"
COMING = ("SLD36", "SLE36", "NK18")
SHORT_DATED = "SLD32"
NOT_OURS = "+A999ABC123DE0/$+1234567Y"


@transaction.atomic
def make_demo_bench(*, site: Site, by: Person) -> list[str]:
    """What was done, a line each."""
    now = site.now()
    return [*_receive(site, by, now), *_count(site, by, now), *_recall(site, by, now)]


def _label(implant: Implant, use_by: date, lot: str) -> str:
    return f"]d201{implant.gtin}17{use_by:%y%m%d}10{lot}"


def _receive(site: Site, by: Person, now: datetime) -> list[str]:
    today = site.local(now).date()
    for number, ref in enumerate(COMING):
        implant = Implant.objects.get(site=site, ref=ref)
        place = implant.units.exclude(location="").values_list("location", flat=True)[0]
        label = _label(implant, today + timedelta(days=1200 + number), f"D47110{number}")
        scan_at_bench(text=label, by=by, now=now)
        scan_at_bench(text=place, by=by, now=now)
    near = Implant.objects.get(site=site, ref=SHORT_DATED)
    scan_at_bench(text=_label(near, today + timedelta(days=40), "D471109"), by=by, now=now)
    scan_at_bench(text=NOT_OURS, by=by, now=now)
    return ["three boxes received, one in quarantine, one not in the catalogue"]


def _count(site: Site, by: Person, now: datetime) -> list[str]:
    """One place counted, a box explained and one left open; and one place half counted."""
    places = list(_places_of(site, COMING[0])) + list(_places_of(site, "SB3S"))
    done = open_count(places=places[:1], is_blind=True, by=by, now=now)
    boxes = list(done.lines.select_related("unit"))
    for line in boxes[:-1]:
        assert line.unit is not None, "an expected line has its box"
        scan_at_count(count=done, text=line.unit.code, by=by, now=now)
    missed = boxes[-1]
    close_count(count=done, explanations={missed.pk: Explanation(None)}, by=by, now=now)
    running = open_count(places=places[1:2], is_blind=False, by=by, now=now)
    first = running.lines.select_related("unit")[0]
    assert first.unit is not None, "an expected line has its box"
    scan_at_count(count=running, text=first.unit.code, by=by, now=now)
    return ["one place counted with a difference left open, another half counted"]


def _places_of(site: Site, ref: str) -> list[str]:
    lying = Unit.objects.filter(site=site, implant__ref=ref).exclude(location="")
    return sorted(set(lying.values_list("location", flat=True)))


def _recall(site: Site, by: Person, now: datetime) -> list[str]:
    shell = Implant.objects.get(site=site, ref=RECALLED_REF)
    recall = open_recall(
        title="Maker South's notice on the shell SC64",
        named=[Named(shell, lot=RECALLED_LOT)],
        is_drill=False,
        by=by,
        now=now,
    )
    retrieve_box(box=recall.boxes.all()[0], by=by, now=now)
    liner = Implant.objects.get(site=site, ref=COMING[1])
    open_recall(title="Spring drill", named=[Named(liner)], is_drill=True, by=by, now=now)
    return ["a recall with one of two boxes retrieved, and a drill"]
