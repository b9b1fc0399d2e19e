from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from deploy.kit.models import Person, Site
from tests import factories
from tests.factories import NOW
from trays.models import Machine, MachineKind, Tray
from trays.stages import Stage

SOON = NOW + timedelta(hours=6)


@pytest.fixture
def who(sterile_services: Person) -> dict[str, Any]:
    return {"by": sterile_services, "now": NOW}


@pytest.fixture
def acts(who: dict[str, Any]) -> dict[str, Any]:
    """Who, when, and a department that needs six hours for everything."""
    return {**who, "forecast": lambda tray, stage: SOON}


@pytest.fixture
def washer(site: Site) -> Machine:
    return Machine.objects.create(
        site=site, code="W1", kind=MachineKind.WASHER, places=2, cycle_minutes=60
    )


@pytest.fixture
def steriliser(site: Site) -> Machine:
    return Machine.objects.create(
        site=site, code="S1", kind=MachineKind.STERILISER, places=2, cycle_minutes=75
    )


@pytest.fixture
def counted(site: Site) -> Tray:
    """A tray at inspection and assembly, its count sheet closed."""
    version = factories.configuration(site, contents={factories.instrument(site): 1})
    return is_counted(factories.tray(version, stage=Stage.ASSEMBLY, ready_at=SOON))


def is_counted(tray: Tray) -> Tray:
    """The tray with a closed count, as a row."""
    tray.counts.create(
        version=tray.version,
        seq=tray.seq,
        opened_at=NOW,
        closed_at=NOW,
        closed_by=factories.person(
            tray.site, f"counter {tray.code}{tray.seq}", "sterile services"
        ).user,
    )
    return tray
