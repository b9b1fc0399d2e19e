"""The pages' house: A is the surgeon's and covered, B is another's and not covered."""

from __future__ import annotations

from tests.scheduling.web.pages.conftest import case_a, case_b, site, theatre

__all__ = ["case_a", "case_b", "site", "theatre"]
