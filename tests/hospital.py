"""A small hospital for the tests of doors: one covered case and its printed pick list."""

from __future__ import annotations

import json
from dataclasses import dataclass

import pytest

from deploy.kit.models import Person, Site
from scheduling.coverage.scenario_write import scenario_json
from scheduling.facts import scenario_now
from scheduling.models import Case, PickListVersion, Theatre
from scheduling.operations.pick_lists import print_pick_list
from tests import factories
from tests.factories import NOW


@dataclass(frozen=True)
class Hospital:
    """A case of `surgeon`, covered by one box and one tray, and its printed pick list."""

    site: Site
    case: Case
    other_case: Case
    printed: PickListVersion

    def scenario(self) -> str:
        return json.dumps(scenario_json(scenario_now(self.site)))


@pytest.fixture
def hospital(site: Site, surgeon: Person, other_surgeon: Person, coordinator: Person) -> Hospital:
    stem = factories.implant(site, size=12, offset="high")
    factories.unit(stem, "U001", lot="L1", location="A-01")
    reamer = factories.instrument(site, diameter=12)
    factories.tray(factories.configuration(site, contents={reamer: 1}), location="R-01")
    technique = factories.technique(site)
    technique.sets.create(purpose="femoral preparation", options=[["BASE"]])
    technique.rules.create(role="reamer", need="planned")
    technique.rules.create(role="stem", need="spare", position=1)
    technique.confirmations.create(code="film looked at", when={"cup": "retained"})
    case = factories.case(
        site,
        "C1",
        surgeon=surgeon.user.surgeon,
        theatre=Theatre.objects.create(site=site, code="T1"),
        technique=technique,
        components={"stem": {"size": 12}},
        facts={"cup": "new"},
    )
    other = factories.case(site, "C2", surgeon=other_surgeon.user.surgeon, start=NOW)
    return Hospital(site, case, other, print_pick_list(case=case, by=coordinator, now=NOW))
