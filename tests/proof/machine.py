"""A state machine that does what people do, in any order, and looks at everything after each step.

Two boxes, one tray, two cases.  Two steps in three are legal ones, the verb is chosen before what
it is done to, and what ends a box or a case is rare: an unbiased machine spends its time on
refusals and in empty houses, and finds little.  The steps of a run follow from one seed, evenly:
drawn one by one they would be small numbers, and repeats of what was drawn before.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import timedelta
from random import Random
from typing import Any, ClassVar

from django.db import IntegrityError, transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from deploy.kit.errors import Refused
from tests import factories
from tests.factories import NOW
from tests.proof.acts import SLOTS, Act, House, acts
from tests.proof.rows import Fixed, Rows

LONGEST = 5
"""Days that may pass: enough for a box to run out of date."""


ENDINGS = {
    *("cancel", "end", "hold", "implant", "quarantine", "recall", "return", "start", "waste"),
}
"""What ends a box or a case, or takes it or the only tray away for a while."""


def furnish(site: Any) -> None:
    """A box whose use-by date is the day of both cases, one of the left side; one tray.

    Two cases of one day: each wants the tray while the other has it, and the box has run out
    as soon as either of them is moved.
    """
    neutral = factories.implant(site)
    left = factories.implant(site, "LEFT", side="left")
    factories.unit(neutral, "U1", expiry=SLOTS[1].date())
    factories.unit(left, "U2")
    factories.tray(factories.configuration(site), "T1")
    factories.case(site, "C1", start=SLOTS[0], side="left")
    factories.case(site, "C2", start=SLOTS[1], side="right")


class Machine(RuleBasedStateMachine):
    """Runs inside the test's transaction; each run is rolled back."""

    house: ClassVar[House]
    counted: ClassVar[Counter[str]]

    def __init__(self) -> None:
        super().__init__()
        self.undone = transaction.atomic()
        self.undone.__enter__()
        self.now = NOW
        self.fixed = Fixed.read()
        self.rows = Rows.read(self.fixed)
        self.counted["runs"] += 1

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.undone.__exit__(None, None, None)

    @initialize(chance=st.randoms(use_true_random=True))
    def start(self, chance: Random) -> None:
        self.chance = chance

    @rule()
    def step(self) -> None:
        self.counted["steps"] += 1
        if self.chance.randrange(30) == 0 and self.now < NOW + timedelta(days=LONGEST):
            self.now += timedelta(days=1)
            return
        legal, may_end = self.chance.randrange(3) > 0, self.chance.randrange(6) == 0
        of_verb: dict[str, list[Act]] = defaultdict(list)
        for each in acts(self.rows, self.house, self.now):
            if each.legal is legal and (may_end or each.verb not in ENDINGS):
                of_verb[each.verb].append(each)
        one = self.chance.choice(self.chance.choice(list(of_verb.values())))
        if self.chance.randrange(10) == 0 and one.moves is not None and one.moves.seq > 1:
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
        after = Rows.read(self.fixed)
        found = list(after.violations())
        assert not found, f"{one.name}: {found}"
        assert after.follow(self.rows), f"{one.name}: history was changed"
        return after
