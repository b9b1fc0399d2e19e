"""The pages' house: the recorded scenario of one add-on set between two cases.

A is the surgeon's and covered; B is the other surgeon's, on the same day in the same theatre, and
not covered.
"""

from __future__ import annotations

import pytest

from deploy.kit.models import Person, Site
from scheduling.models import Case, Theatre
from scheduling.scenario_files.load import load_scenario
from tests.scheduling.recorded import recorded


@pytest.fixture
def site(db: None) -> Site:
    """The house at the scenario's moment: the cast's people work here."""
    return load_scenario(recorded("one-add-on-set-1630"), site_code="ottermere")


@pytest.fixture
def theatre(site: Site) -> Theatre:
    return Theatre.objects.create(site=site, code="Theatre 1")


@pytest.fixture
def case_a(site: Site, theatre: Theatre, surgeon: Person) -> Case:
    return given_to(site, "A", theatre, surgeon)


@pytest.fixture
def case_b(site: Site, theatre: Theatre, other_surgeon: Person) -> Case:
    return given_to(site, "B", theatre, other_surgeon)


def given_to(site: Site, ref: str, theatre: Theatre, surgeon: Person) -> Case:
    case = Case.objects.get(site=site, ref=ref)
    case.theatre, case.surgeon = theatre, surgeon.user.surgeon
    case.save()
    return case
