"""Several scanners at one list, each in a transaction of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import connection

from deploy.kit.requests_once import Answer, Asked, take_once
from scheduling.models import Scan, UnitReservation
from scheduling.operations.pick_lists import print_and_reserve, print_pick_list
from scheduling.operations.scans import scan
from tests.factories import NOW
from tests.scheduling.pick_lists.house import House, house

SCANNERS = 4


def at_once(act: Callable[[], Any]) -> list[Any]:
    """What each of the scanners got, all of them starting together."""
    together = Barrier(SCANNERS)

    def one(_: int) -> Any:
        try:
            together.wait()
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(SCANNERS) as pool:
        return list(pool.map(one, range(SCANNERS)))


@pytest.fixture
def of(transactional_db, site) -> House:
    return house(site)


def test_one_box_is_ticked_once(of, coordinator):
    version = print_pick_list(case=of.case, by=coordinator, now=NOW)
    made = at_once(lambda: scan(version=version, text="S1", by=coordinator, now=NOW))
    assert Counter(each.answer for each in made) == {
        "MATCHES LIST": 1,
        "ALREADY SCANNED": SCANNERS - 1,
    }


def test_two_equal_boxes_are_ticked_twice(of, coordinator):
    version = print_pick_list(case=of.case, by=coordinator, now=NOW)
    made = at_once(lambda: scan(version=version, text="HD-36 LH", by=coordinator, now=NOW))
    ticked = {each.line_id for each in made if each.answer == "MATCHES LIST"}
    assert len(ticked) == 2
    assert Counter(each.answer for each in made)["ALREADY SCANNED"] == SCANNERS - 2


def test_one_request_sent_again_is_one_scan(of, coordinator):
    version = print_pick_list(case=of.case, by=coordinator, now=NOW)

    def act() -> Answer:
        return {"scan": scan(version=version, text="S1", by=coordinator, now=NOW).pk}

    made = at_once(lambda: take_once(Asked(coordinator, "k", b"S1"), act, wait=True))
    assert len({each["scan"] for each in made}) == 1
    assert Scan.objects.count() == 1


def test_printing_at_once_makes_one_version_and_one_promise_a_box(of, coordinator):
    made = at_once(lambda: print_and_reserve(case=of.case, by=coordinator, now=NOW))
    assert len({version.pk for version in made}) == 1
    assert UnitReservation.objects.count() == 3
