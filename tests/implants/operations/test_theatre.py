from __future__ import annotations

from datetime import date

import pytest

from deploy.kit.errors import MoveRefused, Refused
from implants.errors import UnitRefused
from implants.operations.holds import lift_quarantine, quarantine
from implants.operations.theatre import (
    correct_record,
    pick_unit,
    put_back,
    record_implanted,
    record_wasted,
)
from tests import factories
from tests.factories import NOW


@pytest.fixture
def who(coordinator):
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def implant(site):
    return factories.implant(site)


@pytest.fixture
def unit(implant):
    return factories.unit(implant)


def test_picks_and_puts_back(unit, who):
    picked = pick_unit(unit=unit, case_ref="C1", station="Store", **who)
    assert (picked.state, picked.case_ref) == ("picked", "C1")
    back = put_back(unit=unit, **who)
    assert (back.state, back.case_ref) == ("on the shelf", "")


def test_picked_twice_for_one_case_is_harmless_and_for_another_refused(unit, who):
    pick_unit(unit=unit, case_ref="C1", **who)
    assert pick_unit(unit=unit, case_ref="C1", **who).seq == 2
    with pytest.raises(UnitRefused) as refused:
        pick_unit(unit=unit, case_ref="C2", **who)
    assert refused.value.say() == "Box U001 is picked for case C1."


def test_use_by_is_inclusive(implant, who):
    today = factories.unit(implant, "U2", expiry=date(2027, 3, 1))
    yesterday = factories.unit(implant, "U3", expiry=date(2027, 2, 28))
    assert pick_unit(unit=today, case_ref="C1", **who).state == "picked"
    with pytest.raises(UnitRefused) as refused:
        pick_unit(unit=yesterday, case_ref="C1", **who)
    assert refused.value.say() == "Box U3: its use-by date was 28 Feb 2027."


def test_records_what_was_implanted_and_what_was_wasted(implant, unit, who):
    pick_unit(unit=unit, case_ref="C1", **who)
    used = record_implanted(unit=unit, case_ref="C1", **who)
    assert (used.state, used.case_ref) == ("implanted", "C1")
    wasted = record_wasted(
        unit=factories.unit(implant, "U2"), reason="opened, not used", case_ref="C1", **who
    )
    assert (wasted.state, wasted.case_ref) == ("wasted", "C1")


def test_an_expired_box_that_was_implanted_is_recorded_by_two_with_a_reason(implant, who, manager):
    unit = factories.unit(implant, "U2", expiry=date(2027, 2, 28))
    with pytest.raises(UnitRefused, match="takes a reason and a second person"):
        record_implanted(unit=unit, case_ref="C1", reason="read too late", **who)
    used = record_implanted(unit=unit, case_ref="C1", reason="read too late", second=manager, **who)
    assert used.state == "implanted"


def test_a_box_on_hold_that_was_implanted_is_recorded_by_two_with_a_reason(unit, who, manager):
    quarantine(unit=unit, reason="dropped", **who)
    with pytest.raises(MoveRefused, match="takes two different people"):
        record_implanted(unit=unit, case_ref="C1", reason="no other", **who)
    used = record_implanted(unit=unit, case_ref="C1", reason="no other", second=manager, **who)
    assert (used.state, used.hold) == ("implanted", "")


def test_a_wrong_record_is_corrected_by_two_into_quarantine(unit, who, manager, coordinator):
    record_implanted(unit=unit, case_ref="C1", **who)
    wrong = {"unit": unit, "reason": "another box was used", **who}
    with pytest.raises(MoveRefused, match="takes two different people"):
        correct_record(second=coordinator, **wrong)
    corrected = correct_record(second=manager, **wrong)
    assert (corrected.state, corrected.hold) == ("quarantine", "another box was used")
    assert corrected.case_ref == ""
    # The entry that was wrong is still there.
    kinds = list(unit.movements.values_list("move__kind", flat=True))
    assert kinds == ["load from a file", "implant", "correct"]
    assert lift_quarantine(unit=unit, reason="whole", second=manager, **who).seq == 4


def test_what_was_implanted_is_not_wasted_too(unit, who):
    record_implanted(unit=unit, case_ref="C1", **who)
    with pytest.raises(Refused, match="U001 is implanted: “waste” is not possible"):
        record_wasted(unit=unit, reason="dropped", **who)
