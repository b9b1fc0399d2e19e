"""Which page a role begins with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

HOMES: Mapping[str, str] = {
    "sterile services": "needed_next",
    "implant coordinator": "to_order",
    "surgeon": "your_cases",
    "theatre": "today",
    "manager": "cases",
    "implant lead": "recalls",
    "administrator": "admin:index",
}
"""Group → route name; whoever is in several groups gets the first in this order."""


def home_of(user: Any) -> str:
    """The route name of the person's first page.  One query."""
    groups = set(user.groups.values_list("name", flat=True))
    return next((route for group, route in HOMES.items() if group in groups), "shelf")
