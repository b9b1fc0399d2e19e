"""A department with its machines, and a tray that comes back from theatre for a case."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from deploy.kit.credentials import set_pin
from deploy.kit.models import Person, Site
from scheduling.models import Case
from tests import factories
from trays.models import Machine, MachineKind, Tray

PIN = "4071"


@pytest.fixture
def machines(site: Site) -> None:
    for code, kind in (("W1", MachineKind.WASHER), ("S1", MachineKind.STERILISER)):
        Machine.objects.create(site=site, code=code, kind=kind, places=4, cycle_minutes=60)


@pytest.fixture
def tray(site: Site) -> Tray:
    """In the sterile store, two reamers and a handle on its sheet."""
    contents = {
        factories.instrument(site, "R12", diameter=12): 1,
        factories.instrument(site, "R14", diameter=14): 1,
        factories.instrument(site, "HANDLE", role="handle"): 2,
    }
    return factories.tray(factories.configuration(site, contents=contents))


@pytest.fixture
def case(site: Site) -> Case:
    return factories.case(site, "C1", technique=factories.technique(site))


@pytest.fixture
def bench(sterile_services: Person, client_of: Callable[[Person], Client]) -> Bench:
    set_pin(person=sterile_services, pin=PIN, by=None)
    return Bench(client_of(sterile_services))


class Bench:
    """What a technician does there: open a page, scan, press."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self.page: Any = None
        self.path = ""

    def at(self, name: str, *args: Any) -> Bench:
        self.path = reverse(name, args=args)
        self.page = self.client.get(self.path)
        assert self.page.status_code == 200
        return self

    def scan(self, text: str) -> Any:
        """The answer's word and title; ("", page's template) where another page opened."""
        return self.post(text=text)

    def post(self, **data: Any) -> Any:
        self.page = self.client.post(self.path, data, follow=True)
        assert self.page.status_code == 200, self.page.status_code
        if self.page.redirect_chain:
            self.path = self.page.redirect_chain[-1][0]
        answer = self.page.context.get("answer")
        return (answer.word, answer.title) if answer else None
