"""A state machine that does what people do, in any order, and looks at everything after each step.

Two boxes, one tray, two cases.  Four steps in five are legal ones, the verb is chosen before what
it is done to, and what ends a box or a case is rare: an unbiased machine spends its time on
refusals and in empty houses, and finds little.
"""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from typing import Any, ClassVar

from django.db import IntegrityError, transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule

from deploy.kit.errors import Refused
from tests import factories
from tests.factories import NOW
from tests.proof.acts import SLOTS, Act, House, acts
from tests.proof.rows import Rows

LONGEST = 5
"""Days that may pass: enough for a box to run out of date."""


ENDINGS = {"cancel", "end", "hold", "implant", "return", "start", "waste"}
"""What ends a box or a case, or takes the only tray away."""


def furnish(site: Any) -> None:
    """A box whose use-by date is the day of the second case, one of the left side; one tray."""
    neutral = factories.implant(site)
    left = factories.implant(site, "LEFT", side="left")
    factories.unit(neutral, "U1", expiry=SLOTS[2].date())
    factories.unit(left, "U2")
    factories.tray(factories.configuration(site), "T1")
    factories.case(site, "C1", start=SLOTS[0], side="left")
    factories.case(site, "C2", start=SLOTS[2], side="right")


class Machine(RuleBasedStateMachine):
    """Runs inside the test's transaction; each run is rolled back."""

    house: ClassVar[House]
    counted: ClassVar[Counter[str]]

    def __init__(self) -> None:
        super().__init__()
        self.undone = transaction.atomic()
        self.undone.__enter__()
        self.now = NOW
        self.rows = Rows.read()
        self.counted["runs"] += 1

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.undone.__exit__(None, None, None)

    @rule(
        day=st.integers(0, 29),
        legal=st.integers(0, 4),
        ending=st.integers(0, 5),
        verb=st.integers(0, 1_000),
        which=st.integers(0, 1_000),
        stale=st.integers(0, 9),
    )
    def step(self, day: int, legal: int, ending: int, verb: int, which: int, stale: int) -> None:
        self.counted["steps"] += 1
        if day == 0 and self.now < NOW + timedelta(days=LONGEST):
            self.now += timedelta(days=1)
            return
        possible = [
            one
            for one in acts(self.rows, self.house, self.now)
            if one.legal is bool(legal) and (one.verb not in ENDINGS or ending == 0)
        ]
        verbs = sorted({one.verb for one in possible})
        of_verb = [one for one in possible if one.verb == verbs[verb % len(verbs)]]
        one = of_verb[which % len(of_verb)]
        if stale == 0 and one.moves is not None and one.moves.seq > 1:
            self.refused(one, seq=one.moves.seq - 1)
        elif one.legal:
            self.done(one)
        else:
            self.refused(one)

    def done(self, one: Act) -> None:
        with transaction.atomic():
            one.do(**({"seq": one.moves.seq} if one.moves else {}))
        after = self.look(one)
        assert one.then(after), f"{one.name}: said done, and is not"
        self.rows = after
        self.counted["done"] += 1

    def refused(self, one: Act, **stale: int) -> None:
        expected = (Refused, IntegrityError) if one.database_may_refuse else Refused
        try:
            with transaction.atomic():
                one.do(**stale)
        except expected:
            pass
        else:
            raise AssertionError(f"{one.name}: should have been refused")
        assert self.look(one).plain() == self.rows.plain(), f"{one.name}: refused, and changed"
        self.counted["refused"] += 1

    def look(self, one: Act) -> Rows:
        after = Rows.read()
        found = list(after.violations())
        assert not found, f"{one.name}: {found}"
        assert after.follow(self.rows), f"{one.name}: history was changed"
        return after
