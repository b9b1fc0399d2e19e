"""10,000 posts of clients that repeat themselves and lose answers: each request has one effect.

The longer run: LONGER=1 deploy/test tests/proof/test_repeated_requests.py
"""

from __future__ import annotations

from collections import Counter

import pytest

from deploy.kit.ledger_check import breaches
from deploy.kit.models import RequestKey
from implants.models import UnitMovement
from scheduling.models import Scan
from scheduling.operations.pick_lists import print_pick_list
from tests import factories
from tests.factories import NOW
from tests.proof.crew import crew
from tests.proof.figures import size
from tests.scheduling.pick_lists.house import house

pytestmark = pytest.mark.django_db(transaction=True)

PAIRS = 2
REQUESTS = size(600, 20_000)
"""Of each pair; each of its two clients posts it 4.5 times on the average, so 10,800 posts."""


def test_a_request_sent_again_has_one_effect(site, coordinator, figures):
    of = house(site)
    version = print_pick_list(case=of.case, by=coordinator, now=NOW)
    for pair in range(PAIRS):
        factories.unit(of.stem, f"P{pair}", serial=f"P{pair}")
    done = crew(
        "tests.proof.posting:post_over_and_over",
        2 * PAIRS,
        requests=REQUESTS,
        code=version.pick_list.code,
    )
    posts: Counter[str] = sum((Counter(one["counted"]) for one in done), Counter())
    distinct = PAIRS * REQUESTS
    effects = Scan.objects.count() + UnitMovement.objects.filter(move__kind="quarantine").count()
    figures(
        "Repeated and dropped requests",
        posts=posts["posts"],
        without_an_answer=posts["without an answer"],
        requests=distinct,
        effects=effects,
        duplicates=effects - distinct,
    )
    assert posts["posts"] >= 10_000
    assert effects == distinct == RequestKey.objects.count()
    for pair in range(PAIRS):
        one, other = done[2 * pair], done[2 * pair + 1]
        assert one["answers"] == other["answers"]
    assert list(breaches()) == []
