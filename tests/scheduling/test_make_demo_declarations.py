"""The demonstration's declarations: makers with addresses, windows that fit what is made."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from deploy.kit.models import Site
from implants.models import Implant
from scheduling.models import Maker, TaperPair, Window
from scheduling.plan_versions import given_of_plan
from scheduling.plans.form import plan_form
from scheduling.plans.windows import ladders_of
from scheduling.queries import coverage_now

DEMONSTRATION = Path(__file__).resolve().parents[2] / "fixtures" / "demonstration.json"


def test_makers_tapers_and_windows(db, settings):
    settings.DEMO = True
    call_command("load_scenario", str(DEMONSTRATION), verbosity=0)
    call_command("make_demo_people", verbosity=0)
    for _ in range(2):
        call_command("make_demo_declarations")

    makers = {maker.name: maker for maker in Maker.objects.all()}
    assert set(Implant.objects.values_list("maker", flat=True)) == set(makers)
    assert all(one.address and one.website.endswith(".example/") for one in makers.values())
    assert set(TaperPair.objects.values_list("stem_taper", "head_taper")) == {
        ("T1", "T1"),
        ("T2", "T2"),
    }

    windows = Window.objects.select_related("technique", "surgeon")
    assert {(one.surgeon.name, one.technique.code, one.number) for one in windows} == {
        ("Surgeon Ash", "PRIMARY-B", 1),
        ("Surgeon Ash", "REVISION-A", 1),
        ("Surgeon Birch", "REVISION-A", 1),
        ("Surgeon Cedar", "PRIMARY-B", 1),
    }
    scenario = coverage_now(Site.objects.get()).scenario
    for one in windows:
        technique = scenario.techniques[one.technique.code]
        form = plan_form(technique, scenario.implants.values(), given_of_plan(one))
        assert not form.faults
        assert not [part.dropped for part in form.components if part.dropped]
        assert set(one.windows) <= set(ladders_of(technique))
        asked = {fact.name for fact in form.facts if fact.shown}
        assert set(one.facts) <= asked | {"cup_fixation", "approach"}


def test_is_for_a_demonstration(site, settings):
    settings.DEMO = False
    with pytest.raises(CommandError, match="Only in the demonstration"):
        call_command("make_demo_declarations")
    assert not Maker.objects.exists()
