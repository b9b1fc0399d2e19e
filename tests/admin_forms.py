"""Posting the admin's forms, and reading the faults that they show."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from django.test import Client
from django.urls import reverse

NO_PARTS = {
    f"{prefix}-{name}": 0
    for prefix in (
        "sets",
        "rules",
        "checks",
        "confirmations",
        "missing_lines",
        "use_rules",
        "closed_dates",
    )
    for name in ("TOTAL_FORMS", "INITIAL_FORMS")
}


def send(browser: Client, page: str, *args: Any, **values: Any) -> list[str]:
    """Post a form; the faults that the page shows, none where it was saved."""
    answer = browser.post(reverse(f"admin:{page}", args=args), NO_PARTS | values)
    if answer.status_code == 302:
        return []
    lists = re.findall(r'<ul class="errorlist[^>]*>(.*?)</ul>', answer.text, re.DOTALL)
    faults = [unescape(item) for one in lists for item in re.findall(r"<li>(.*?)</li>", one)]
    assert faults, "neither saved nor refused with a fault"
    return faults
