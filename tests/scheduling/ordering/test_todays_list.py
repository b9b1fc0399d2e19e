from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from scheduling.coverage.engine import decide
from scheduling.coverage.values import Scenario, Supplier
from scheduling.ordering.todays_list import todays_list
from scheduling.ordering.values import AskLine, HouseStock, Ordered, ToOrder, Use
from tests.coverage_engine.build import box, implant, scenario, site, wants

BILL_AND_REPLACE = "bill the used box and send another"
BILL_ONLY = "bill the used box, send none"


def house(**said: Any) -> HouseStock:
    """The books of STEM-12 alone."""
    return HouseStock(**{key: {"STEM-12": value} for key, value in said.items()})


def used(unit: str = "U9", owner: str = "owned", terms: str = "buy") -> Use:
    return Use(unit, 9, owner, terms, "implanted", "C0")


def listed(given: Scenario, books: HouseStock | None = None) -> list[ToOrder]:
    return list(todays_list(given, decide(given), books or HouseStock()))


def one(given: Scenario, **said: Any) -> ToOrder:
    (row,) = listed(given, house(**said))
    return row


def wanting(
    *entries: Any,
    lead_days: int | None = 1,
    start: str = "Thu 08:00",
    supplier: Supplier | None = None,
) -> Scenario:
    """One case on Thursday that plans a STEM-12; it is Monday 06:00."""
    stem = implant("STEM-12", lead_days=lead_days, supplier=supplier)
    return scenario(*entries, stem, wants("C1", start, planned="STEM-12"))


def stocked(*entries: Any) -> Scenario:
    """No case at all."""
    return scenario(*entries, implant("STEM-12", lead_days=1))


def test_nothing_to_order_where_nothing_is_wanted() -> None:
    assert listed(wanting(box("U1", "STEM-12"))) == []


def test_a_gap_names_its_case_and_the_last_moment() -> None:
    """Needed by Thursday 07:00, a delivery comes at noon: Wednesday's, ordered on Tuesday."""
    row = one(wanting())
    (want,) = row.wants
    assert (want.case, want.number, f"{want.order_by:%a %H:%M}") == ("C1", 1, "Tue 16:00")
    assert want.why == ("No box of STEM-12 is here or on order.",)
    assert row.lines == (AskLine("owned", "buy", 1),)


def test_the_suppliers_cut_off_and_closed_dates_count() -> None:
    early = Supplier("NORTH", 11 * 60)
    assert f"{one(wanting(supplier=early)).order_by:%a %H:%M}" == "Tue 11:00"
    closed = replace(early, closed_dates=frozenset({date(2027, 3, 2)}))
    assert f"{one(wanting(supplier=closed)).order_by:%a %H:%M}" == "Mon 11:00"


def test_what_an_order_cannot_reach_is_not_ordered_for() -> None:
    row = one(wanting(lead_days=4))
    assert (row.boxes, row.lines, [want.case for want in row.too_late]) == (0, (), ["C1"])


def test_without_a_lead_time_somebody_asks() -> None:
    row = one(wanting(lead_days=None))
    assert (row.boxes, row.order_by, row.too_late) == (1, None, ())


def test_an_order_without_a_date_may_still_come_in_time() -> None:
    draft = Ordered("O-0001", "draft", undated=1, to_come=1, replacing=0)
    assert listed(wanting(), house(ordered=(draft,))) == []


def test_a_box_that_comes_too_late_closes_no_gap() -> None:
    late = wanting(box("U1", "STEM-12", arrives="Fri 12:00"))
    assert one(late).for_cases == 1


def test_a_used_box_is_replaced_on_the_terms_of_its_owner() -> None:
    row = one(
        stocked(),
        uses=(
            used("U7"),
            used("U8", "consignment", BILL_AND_REPLACE),
            used("U9", "loan", BILL_ONLY),
        ),
    )
    assert row.boxes == 2
    assert row.lines == (
        AskLine("consignment", BILL_AND_REPLACE, 1),
        AskLine("loan", BILL_ONLY, 1),
        AskLine("owned", "buy", 1),
    )
    assert row.to_bill_only == 1


def test_what_is_on_order_anyway_replaces_a_used_box() -> None:
    coming = stocked(box("U1", "STEM-12", arrives="Fri 12:00"))
    assert listed(coming, house(uses=(used(),))) == []
    meant = Ordered("O-0001", "confirmed", undated=0, to_come=1, replacing=1)
    assert one(coming, uses=(used(),), ordered=(meant,)).for_uses == 1


@pytest.mark.parametrize(("level", "to_order"), [(3, 1), (4, 2), (2, 0)])
def test_up_to_the_par_level_with_what_is_on_order_deducted(level: int, to_order: int) -> None:
    here = stocked(box("U1", "STEM-12"), box("U2", "STEM-12", arrives="Fri 12:00"))
    rows = listed(here, house(par=level))
    assert sum(row.for_par for row in rows) == to_order


def test_a_box_that_is_out_of_date_by_the_next_delivery_fills_no_par_level() -> None:
    short = stocked(box("U1", "STEM-12", expiry=date(2027, 3, 1)), box("U2", "STEM-12"))
    row = one(short, par=2)
    assert (row.usable, row.for_par) == (1, 1)


def test_a_box_on_hold_fills_none_either() -> None:
    assert one(stocked(box("U1", "STEM-12", hold="dropped")), par=1).for_par == 1


def test_one_box_answers_all_three_and_is_ordered_once() -> None:
    row = one(wanting(), uses=(used("U8", "consignment", BILL_AND_REPLACE),), par=1)
    assert (row.for_cases, row.for_uses, row.for_par, row.boxes) == (1, 1, 1, 1)
    assert row.lines == (AskLine("consignment", BILL_AND_REPLACE, 1),)


def test_what_is_lent_closes_a_gap_and_fills_no_par_level() -> None:
    lent = replace(box("L-0001/B1", "STEM-12"), owner="loan")
    row = one(wanting(lent), par=1)
    assert (row.for_cases, row.usable, row.for_par) == (0, 0, 1)
    coming = replace(lent, arrives=box("U1", "STEM-12", arrives="Tue 08:00").arrives)
    assert one(stocked(coming), par=1).for_par == 1


def test_with_a_par_level_the_level_says_whether_a_use_is_replaced() -> None:
    full = stocked(box("U1", "STEM-12"))
    assert listed(full, house(uses=(used(),), par=1)) == []


def test_more_boxes_come_as_whose_the_item_usually_is() -> None:
    ours = [replace(box(f"U{number}", "STEM-12"), owner="consignment") for number in (1, 2)]
    row = one(stocked(*ours), par=3)
    assert row.lines == (AskLine("consignment", "buy", 1),)


def test_cases_before_shelves_and_the_earliest_moment_first() -> None:
    given = scenario(
        implant("STEM-12", lead_days=1),
        implant("STEM-13", lead_days=1),
        implant("STEM-14", lead_days=1),
        wants("C1", "Fri 08:00", planned="STEM-12"),
        wants("C2", "Thu 08:00", planned="STEM-13"),
    )
    books = HouseStock(par={"STEM-14": 1})
    assert [row.ref for row in listed(given, books)] == ["STEM-13", "STEM-12", "STEM-14"]


def test_local_times_are_the_sites() -> None:
    london = replace(wanting(), site=site(timezone="Europe/London"))
    (want,) = one(london).wants
    assert f"{want.needed_by:%Z}" == "GMT"
