"""kill -9 of a worker at 13 named points of a request: all of it is there, or nothing; and the same
request, sent again, brings it to its end once.

The longer run: LONGER=1 deploy/test tests/proof/test_killed_workers.py
"""

from __future__ import annotations

import pytest

from deploy.kit.ledger_check import breaches
from deploy.kit.models import OutboxMessage, RequestKey
from implants.models import UnitMovement
from scheduling.models import TrayReservation, UnitReservation
from tests import factories
from tests.proof.crew import crew
from tests.proof.dying import DONE_BY_THEN, POINTS
from tests.proof.figures import size

pytestmark = pytest.mark.django_db(transaction=True)

JOB = "tests.proof.dying:fetch_for_a_case"
ROUNDS = size(1, 50)


def parts_of(number: int) -> list[int]:
    """How often each part of the request's effect is there."""
    return [
        TrayReservation.objects.filter(tray__code=f"T{number}").count(),
        UnitReservation.objects.filter(unit__code=f"U{number}").count(),
        UnitMovement.objects.filter(unit__code=f"U{number}", move__kind="pick").count(),
        OutboxMessage.objects.filter(subject=f"C{number}").count(),
        RequestKey.objects.filter(key=f"fetch C{number}").count(),
    ]


def test_a_killed_worker_leaves_nothing_half_done(site, coordinator, figures):
    implant = factories.implant(site)
    sheet = factories.configuration(site)
    number_of = len(POINTS)
    half_done, not_once = 0, 0
    for first in range(0, ROUNDS * number_of, number_of):
        for number in range(first, first + number_of):
            factories.case(site, f"C{number}")
            factories.unit(implant, f"U{number}")
            factories.tray(sheet, f"T{number}")
        assert crew(JOB, number_of, deadly=True, first=first) == [None] * number_of
        for number, point in enumerate(POINTS, start=first):
            half_done += parts_of(number) != [int(point in DONE_BY_THEN)] * 5
        assert list(breaches()) == []
        answers = crew(JOB, number_of, deadly=False, first=first)
        assert answers == [{"picked": f"U{first + number}"} for number in range(number_of)]
        not_once += sum(parts_of(first + number) != [1] * 5 for number in range(number_of))
    figures(
        "kill -9 of a worker",
        points=number_of,
        killed=ROUNDS * number_of,
        half_done=half_done,
        not_once_when_sent_again=not_once,
    )
    assert (half_done, not_once) == (0, 0)
    assert list(breaches()) == []
