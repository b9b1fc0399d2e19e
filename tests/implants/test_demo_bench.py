"""The demonstration's morning at the shelf leaves something on each of its pages."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from deploy.kit.models import Site
from implants.models import Arrival, Count, CountLine, Recall
from scheduling.queries import coverage_now

SCENARIO = Path(__file__).parents[2] / "fixtures" / "demonstration.json"


@pytest.fixture
def hospital(db, settings) -> Site:
    settings.DEMO = True
    call_command("load_scenario", str(SCENARIO), verbosity=0)
    call_command("make_demo_people", verbosity=0)
    return Site.objects.get()


def verdicts(site: Site) -> dict[str, str]:
    return {case.case: case.verdict for case in coverage_now(site).report.cases}


def test_every_page_has_something_to_show_and_no_case_changes(hospital):
    before = verdicts(hospital)
    call_command("make_demo_bench", verbosity=0)
    assert set(Arrival.objects.values_list("outcome", flat=True)) == {
        "received",
        "in quarantine",
        "not in the catalogue",
    }
    assert Count.objects.filter(closed_at=None).count() == 1
    assert CountLine.objects.filter(count__closed_at__isnull=False, counted_at=None).count() == 1
    assert sorted(Recall.objects.values_list("is_drill", flat=True)) == [False, True]
    assert Recall.objects.get(is_drill=False).boxes.exclude(done_at=None).count() == 1
    assert verdicts(hospital) == before


def test_is_for_a_demonstration_with_its_people(db, settings):
    settings.DEMO = True
    with pytest.raises(CommandError, match="make_demo_people first"):
        call_command("make_demo_bench")
    settings.DEMO = False
    with pytest.raises(CommandError, match="Only for a demonstration"):
        call_command("make_demo_bench")
