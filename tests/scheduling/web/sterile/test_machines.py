from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person, Site
from tests import factories
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import PIN, Bench
from trays.models import Machine
from trays.stages import Stage

pytestmark = pytest.mark.usefixtures("machines")


def test_a_machine_out_of_use_shows_who_is_hit_and_comes_back_by_name(
    bench: Bench, site: Site
) -> None:
    ready = factories.NOW.replace(hour=13)
    factories.tray(factories.configuration(site), stage=Stage.PACKED, ready_at=ready)
    technique = factories.technique(site)
    technique.sets.create(purpose="femur", options=[["BASE"]])
    factories.case(site, "C1", technique=technique, start=factories.NOW.replace(hour=18))
    bench.at("machines").post(
        machine="S1", act="down", why="test cycle failed", reason="leak rate", back_at=""
    )
    said = words_of(bench.page)
    assert "Out of use since 07:00, Mon 1 Mar: test cycle failed: leak rate." in said
    assert "Nobody has said when it is back." in said
    assert "No machine for sterilising is in use. Nothing is made ready" in said
    assert "1 case worse off than with every machine in use: 18:00, Mon 1 Mar: C1" in said
    assert "→ not covered. Ring theatre" in said
    bench.post(machine="S1", act="up")
    assert "Not signed" in words_of(bench.page)
    bench.post(machine="S1", act="up", signed_with=PIN)
    assert Machine.objects.get(code="S1").down_since is None


def test_when_it_should_be_back_is_said_in_the_sites_time(bench: Bench) -> None:
    bench.at("machines").post(machine="S1", act="down", why="service", back_at="2027-03-01T06:00")
    assert "back: that has passed already" in words_of(bench.page)
    kept = bench.page.content.decode()
    assert 'value="service" checked' in kept
    assert 'value="2027-03-01T06:00"' in kept
    bench.post(machine="S1", act="down", why="service", back_at="2027-03-01T11:30")
    said = words_of(bench.page)
    assert "Should be back 11:30, Mon 1 Mar." in said
    assert "What has still to go through one waits until 11:30, Mon 1 Mar; what comes back" in said
    assert "No case comes off worse by it." in said


def test_the_reader_changes_nothing(manager: Person, client_of: Callable[[Person], Client]) -> None:
    client = client_of(manager)
    assert client.get(reverse("machines")).status_code == 200
    sent = {"machine": "S1", "act": "down", "reason": "leaks"}
    assert client.post(reverse("machines"), sent).status_code == 403
    assert Machine.objects.get(code="S1").down_since is None
