from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from implants.par.poisson import Rate
from implants.par.proposal import Demand
from scheduling.coverage.clock import Clock
from scheduling.coverage.engine import decide
from scheduling.coverage.values import Scenario
from scheduling.ordering.par_proposals import Asked, ParRow, longest_wait, par_table, wanted_at_once
from scheduling.ordering.values import HouseStock, SupplierTerms
from tests.coverage_engine.build import box, implant, scenario, site, wants

ASKED = Asked(Rate.FILL, Decimal("0.95"), 728)
DAY = 24 * 60


def row_of(
    given: Scenario, demand: dict[str, Demand] | None = None, books: HouseStock | None = None
) -> ParRow:
    (row,) = par_table(given, decide(given), books or HouseStock(), demand or {}, ASKED).rows
    return row


def stocked(*entries: object, lead_days: int | None = 1) -> Scenario:
    return scenario(*entries, implant("STEM-12", lead_days=lead_days))  # type: ignore[arg-type]


def test_the_longest_wait_is_over_a_weekend() -> None:
    """A use on Thursday just past 16:00 is ordered on Friday and delivered on Monday at noon, the
    same on Friday one day later: on Tuesday, three days and twenty hours after."""
    assert longest_wait(Clock(site()), None, 1) == 3 * DAY + 20 * 60 - 1


def test_closed_dates_ahead_lengthen_it() -> None:
    closed = site(closed_dates=frozenset({date(2027, 3, 8), date(2027, 3, 9)}))
    assert longest_wait(Clock(closed), None, 1) == 5 * DAY + 20 * 60 - 1


def test_what_one_case_may_want_at_once_counts_all_needs() -> None:
    given = scenario(
        wants("C1", planned="STEM-12", spare="STEM-12"),
        wants("C2", "Wed 08:00", planned="STEM-12", contingency={"STEM-13": 3}),
        implant("STEM-12"),
        implant("STEM-13"),
    )
    assert wanted_at_once(decide(given)) == {"STEM-12": 2, "STEM-13": 3}


def test_the_proposal_rests_on_the_houses_own_use() -> None:
    """52 uses in 728 days: a use a fortnight, and 0.274 of one while waiting."""
    row = row_of(stocked(box("U1", "STEM-12")), {"STEM-12": Demand(52, 728)})
    assert round(row.proposal.mean, 3) == Decimal("0.274")
    assert (row.now, row.in_force, row.proposal.level, row.differs) == (1, None, 2, True)


def test_the_level_in_force_is_what_the_house_keeps() -> None:
    row = row_of(stocked(), {"STEM-12": Demand(52, 728)}, HouseStock(par={"STEM-12": 2}))
    assert (row.now, row.differs) == (2, False)


def test_what_is_lent_is_not_what_the_house_keeps() -> None:
    lent = replace(box("L-0001/B1", "STEM-12"), owner="loan")
    assert row_of(stocked(box("U1", "STEM-12"), lent)).now == 1


def test_what_cannot_be_ordered_has_no_proposal() -> None:
    given = stocked(lead_days=None)
    assert par_table(given, decide(given), HouseStock(), {}, ASKED).rows == ()


def test_boxes_that_do_not_expire_are_never_better_lent() -> None:
    rare = {"STEM-12": Demand(1, 728)}
    assert not row_of(stocked(box("U1", "STEM-12")), rare).proposal.better_lent
    dated = box("U1", "STEM-12", expiry=date(2030, 1, 1))
    assert row_of(stocked(dated), rare).proposal.better_lent
    theirs = replace(dated, owner="consignment")
    assert not row_of(stocked(theirs), rare).proposal.better_lent


def test_a_suppliers_terms_say_how_long_a_box_lives() -> None:
    terms = SupplierTerms("NORTH", "Maker North", use_by_days=5000)
    books = HouseStock(suppliers={"STEM-12": terms})
    dated = stocked(box("U1", "STEM-12", expiry=date(2030, 1, 1)))
    assert not row_of(dated, {"STEM-12": Demand(1, 728)}, books).proposal.better_lent
