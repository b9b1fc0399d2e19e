from __future__ import annotations

from deploy.kit.models import Site
from scheduling.coverage.values import Scenario
from scheduling.models import Technique
from scheduling.techniques.rows import add_parts


def load_techniques(site: Site, scenario: Scenario) -> dict[str, Technique]:
    """The saved techniques by code."""
    stated = list(scenario.techniques.values())
    rows = Technique.objects.bulk_create(
        Technique(site=site, code=one.code, name=one.name) for one in stated
    )
    add_parts(zip(rows, stated, strict=True))
    return {row.code: row for row in rows}
