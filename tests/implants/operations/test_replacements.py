from __future__ import annotations

import pytest

from implants.errors import OrderRefused, UnitRefused
from implants.models import ParLevel, UseRule
from implants.operations.late_entries import enter_taken
from implants.operations.par_levels import accept_par
from implants.operations.replacements import settle_without_order
from implants.operations.theatre import record_implanted
from implants.uses import OnUse, on_use, open_uses
from tests import factories
from tests.factories import NOW


@pytest.fixture
def who(coordinator):
    return {"by": coordinator, "now": NOW}


@pytest.fixture
def used(site, who):
    unit = factories.unit(factories.implant(site), owner="consignment")
    return record_implanted(unit=unit, case_ref="C1", **who)


@pytest.mark.parametrize(
    ("owner", "by_itself", "said", "what"),
    [
        ("owned", False, None, OnUse.REPLACE),
        ("consignment", False, None, OnUse.BILL_AND_REPLACE),
        ("loan", False, None, OnUse.BILL_ONLY),
        ("owned", True, None, OnUse.BY_ITSELF),
        ("loan", True, None, OnUse.BILL_ONLY),
        ("consignment", True, "bill it, order none", OnUse.BILL_ONLY),
    ],
)
def test_what_follows_a_use(owner, by_itself, said, what):
    assert on_use(owner, replaced_on_use=by_itself, said=said) is what


def test_the_houses_word_for_an_item_counts(site, used):
    assert [use.on_use for use in open_uses(site)] == [OnUse.BILL_AND_REPLACE]
    UseRule.objects.create(implant=used.implant, owner="consignment", on_use=OnUse.BY_ITSELF)
    assert open_uses(site) == []


def test_a_use_is_settled_without_an_order_once(site, used, who):
    settle_without_order(unit=used, note="no longer stocked", **who)
    assert open_uses(site) == []
    with pytest.raises(OrderRefused, match="settled this meanwhile"):
        settle_without_order(unit=used, note="again", **who)


def test_only_what_was_used_is_settled_and_with_a_note(site, used, who, stranger):
    with pytest.raises(OrderRefused, match="is on the shelf, not used"):
        settle_without_order(unit=factories.unit(used.implant, "U9"), note="x", **who)
    with pytest.raises(OrderRefused, match="say why"):
        settle_without_order(unit=used, note="", **who)
    with pytest.raises(OrderRefused, match="another site"):
        settle_without_order(unit=used, note="x", by=stranger, now=NOW)


def test_a_box_taken_at_night_is_entered_late(site, who):
    unit = enter_taken(
        unit=factories.unit(factories.implant(site)), case_ref="C1", who="night team", **who
    )
    assert (unit.state, unit.case_ref) == ("picked", "C1")
    assert unit.movements.last().reason == "entered late; taken by night team"


def test_somebody_took_it(site, who):
    with pytest.raises(UnitRefused, match="say who took it"):
        enter_taken(unit=factories.unit(factories.implant(site)), case_ref="C1", who=" ", **who)


def test_par_levels_are_added_never_edited(site, who, stranger):
    implant = factories.implant(site)
    for level in (3, 4):
        accept_par(implant=implant, level=level, basis="demand 6 a year", **who)
    assert [each.level for each in ParLevel.objects.order_by("pk")] == [3, 4]
    with pytest.raises(OrderRefused, match="0 to 999"):
        accept_par(implant=implant, level=1000, **who)
    with pytest.raises(OrderRefused, match="another site"):
        accept_par(implant=implant, level=1, by=stranger, now=NOW)
