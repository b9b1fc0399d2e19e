"""A hospital of which nothing is entered yet: no first page of a role is a dead end."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.test import Client

from deploy.kit.models import Person, Site
from deploy.roles import ROLES
from scheduling.models import HouseSettings
from tests import factories

LINK = re.compile(r'<a [^>]*href="(/[^"#?]*)')
LEFT_OUT = ("/admin/", "/log-out/", "/lock/", "/switch/")
"""The admin is Django's own; the others end what is walked."""
STEPS = 2
"""From the first page; the days have no end."""


@pytest.mark.parametrize("role", sorted(set(ROLES) - {"administrator"}))
def test_every_page_that_a_role_can_reach_opens(
    site: Site, client_of: Callable[[Person], Client], role: str
) -> None:
    HouseSettings.objects.all().delete()
    browser = client_of(factories.person(site, "new", role))
    found, seen = {"/"}, dict[str, int]()
    for _ in range(STEPS + 1):
        links: set[str] = set()
        for address in found:
            answer = browser.get(address, follow=True)
            seen[address] = answer.status_code
            if answer.headers.get("Content-Type", "").startswith("text/html"):
                links |= set(LINK.findall(answer.content.decode()))
        found = {link for link in links if link not in seen and not link.startswith(LEFT_OUT)}
    assert {address: code for address, code in seen.items() if code >= 400} == {}
    assert len(seen) > 4
