"""The capacities of sterile services: house settings, loaded, exported, and one half refused."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.db import IntegrityError

from deploy.kit.models import Site
from scheduling.coverage.values import DepartmentStage
from scheduling.facts import scenario_now
from scheduling.models import HouseSettings
from scheduling.scenario_files import load_scenario
from tests.coverage_engine.department_day import two_trays_back_at_once

pytestmark = pytest.mark.django_db

DEPARTMENT = (DepartmentStage("cleaning", 1, 60), DepartmentStage("sterilising", 4, 45))


def test_capacities_go_into_the_database_and_back() -> None:
    scenario = two_trays_back_at_once()
    scenario = replace(scenario, site=replace(scenario.site, department=DEPARTMENT))
    site = load_scenario(scenario)
    assert scenario_now(site).site.department == DEPARTMENT


def test_places_without_minutes_are_refused(site: Site) -> None:
    with pytest.raises(IntegrityError):
        HouseSettings.objects.update_or_create(
            site=site, defaults={"cleaning_places": 2, "cleaning_minutes": None}
        )
