"""What a recall takes from the booked cases: the same answer before and after it is opened."""

from __future__ import annotations

import pytest

from implants.operations.recalls import open_recall
from implants.recalls.notice import Named
from scheduling.coverage.report import Verdict
from scheduling.queries import coverage_now
from scheduling.recall_effects import cases_hit
from tests import factories
from tests.factories import NOW


@pytest.fixture
def needing(site):
    """A case that needs a stem of size 12; one of lot R1 and one of lot R2 are on the shelf."""
    stem = factories.implant(site, "STEM-12", "stem", size=12)
    factories.unit(stem, "BOX1", lot="R1")
    technique = factories.technique(site)
    technique.rules.create(role="stem", need="planned", select={"size": 12})
    return factories.case(site, technique=technique), stem


def hits(site, boxes, case):
    found = cases_hit(coverage_now(site), boxes, {case.ref: case.pk})
    return [(hit.pk, hit.before, hit.after) for hit in found]


def test_before_and_after_it_is_opened(site, needing, coordinator):
    case, stem = needing
    expected = [(case.pk, Verdict.COVERED, Verdict.NOT_COVERED)]
    assert hits(site, {"BOX1"}, case) == expected
    open_recall(title="N", named=[Named(stem, lot="R1")], is_drill=False, by=coordinator, now=NOW)
    assert hits(site, {"BOX1"}, case) == expected


def test_where_another_lot_serves_nobody_is_worse_off(site, needing):
    case, stem = needing
    for number in (2, 3, 4):
        factories.unit(stem, f"BOX{number}", lot="R2")
    assert hits(site, {"BOX1"}, case) == []


def test_only_the_cases_that_were_asked_for(site, needing):
    assert cases_hit(coverage_now(site), {"BOX1"}, {}) == ()


def test_no_box_hits_nobody(site, needing):
    assert hits(site, set(), needing[0]) == []
