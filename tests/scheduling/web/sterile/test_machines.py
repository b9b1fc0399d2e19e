from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.models import Person
from tests.scheduling.web.pages.test_views import words_of
from tests.scheduling.web.sterile.conftest import Bench
from trays.models import Machine

pytestmark = pytest.mark.usefixtures("machines")


def test_a_machine_out_of_use_leads_to_what_goes_first_and_comes_back(bench: Bench) -> None:
    bench.at("machines").post(machine="S1", act="down", reason="leaks")
    assert bench.path == reverse("which_first")
    assert "Out of use since 07:00, Mon 1 Mar: leaks." in words_of(bench.at("machines").page)
    bench.post(machine="S1", act="up")
    assert Machine.objects.get(code="S1").down_since is None


def test_the_reader_changes_nothing(manager: Person, client_of: Callable[[Person], Client]) -> None:
    client = client_of(manager)
    assert client.get(reverse("machines")).status_code == 200
    sent = {"machine": "S1", "act": "down", "reason": "leaks"}
    assert client.post(reverse("machines"), sent).status_code == 403
    assert Machine.objects.get(code="S1").down_since is None
