"""Scenario files: what is read, and that writing loses nothing."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from scheduling.coverage.scenario_json import read_scenario, write_scenario
from scheduling.coverage.values import (
    Case,
    Check,
    Component,
    FromPlan,
    Ladder,
    Need,
    OneOf,
    Priority,
    Supplier,
    Times,
)
from tests.coverage_engine import random_scenarios
from tests.coverage_engine.small_scenario import RECORDED, broken, read, small

# -- what is read -----------------------------------------------------------------------------


def test_times_are_local_to_the_site_and_kept_in_utc() -> None:
    data = broken("cases|0|start", "2027-03-29T08:30")  # British Summer Time since the day before
    assert read(data).cases["C1"].start == datetime(2027, 3, 29, 7, 30, tzinfo=UTC)
    assert read(data).site.now == datetime(2027, 3, 1, 7, 0, tzinfo=UTC)


def test_a_time_that_occurs_twice_is_its_first_occurrence() -> None:
    data = broken("cases|0|start", "2027-10-31T01:30")
    assert read(data).cases["C1"].start == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)


def test_a_time_that_the_clocks_skip_is_read_on_the_clock_before_the_change() -> None:
    data = broken("cases|0|start", "2027-03-28T01:30")
    scenario = read(data)
    assert scenario.cases["C1"].start == datetime(2027, 3, 28, 1, 30, tzinfo=UTC)
    assert '"start": "2027-03-28T02:30"' in write_scenario(scenario)


def test_a_month_means_its_last_day_and_null_means_that_it_does_not_expire() -> None:
    shelf = read(small()).shelf
    assert shelf["U1"].expiry == date(2028, 2, 29)
    assert shelf["U2"].expiry is None


def test_numbers_with_decimals_are_exact() -> None:
    assert read(small()).implants["STEM-12"].attributes["length"] == Decimal("225.5")


def test_an_implant_has_its_suppliers_terms() -> None:
    assert read(small()).implants["STEM-12"].supplier == Supplier(
        "NORTH", 11 * 60, frozenset({date(2027, 3, 2)})
    )


def test_a_supplier_without_terms_is_as_the_house() -> None:
    data = broken("implants|0|supplier", "SOUTH")
    assert read(data).implants["STEM-12"].supplier == Supplier("SOUTH")
    assert read(broken("implants|0|supplier", ...)).implants["STEM-12"].supplier is None


def test_a_gtin_is_kept_as_labels_carry_it() -> None:
    assert read(small()).implants["STEM-12"].gtin == "00000002345673"


def test_what_is_left_out_has_the_formats_defaults() -> None:
    scenario = read({"site": {"now": "2027-03-01T07:00"}})
    site = scenario.site
    assert (site.timezone, site.needed_before_minutes, site.out_of_theatre_minutes) == (
        "UTC",
        60,
        15,
    )
    assert (site.shelf_return_minutes, site.loan_check_in_minutes) == (60, 120)
    assert (site.order_cut_off_minute, site.delivery_minute) == (960, 720)
    assert site.opening == {}
    assert scenario.cases == {}
    data = small()
    for key in ("priority", "side", "components", "facts", "confirmed"):
        del data["cases"][0][key]
    del data["cases"][0]["reserved_trays"], data["cases"][0]["reserved_units"]
    assert read(data).cases["C1"] == Case(
        ref="C1",
        technique="REV",
        start=datetime(2027, 3, 2, 8, 30, tzinfo=UTC),
        minutes=180,
        priority=Priority.ELECTIVE,
    )


def test_a_technique_is_read_part_by_part() -> None:
    technique = read(small()).techniques["REV"]
    assert technique.sets[0].when == {"a": ("x", True)}
    reamers, spare = technique.rules
    assert reamers.select == {
        "diameter": Ladder(start=9, end=FromPlan("stem.size")),
        "ref": OneOf(("REAM-12",)),
    }
    assert (spare.need, spare.quantity, spare.select) == (Need.SPARE, 2, {})
    assert technique.checks == (
        Check("same", "equal", (FromPlan("stem.size"),), (FromPlan("b"),)),
        Check(
            "long enough",
            "at least",
            (FromPlan("stem.length"), 3),
            (Times(Decimal("2.5"), "bone_mm"),),
        ),
    )


@pytest.mark.parametrize(
    ("written", "read_as"),
    [
        ({"ladder": {"at": 9, "above": 2}}, Ladder(9, 9, 0, 2)),
        ({"ladder": {"to": 9, "below": 1}}, Ladder(None, 9, 1, 0)),
        ({"ladder": {}}, Ladder()),
        ({"from": 9, "above": 1}, Ladder(9, None, 0, 1)),
    ],
)
def test_ladders(written: Any, read_as: Ladder) -> None:
    data = broken("techniques|0|rules|0|select|diameter", written)
    assert read(data).techniques["REV"].rules[0].select["diameter"] == read_as


def test_a_component_may_be_named_by_its_reference() -> None:
    data = broken("cases|0|components", {"stem": {"ref": "STEM-12"}})
    assert read(data).cases["C1"].components == {"stem": Component({"ref": "STEM-12"})}


def test_two_cases_may_reserve_the_same_things() -> None:
    data = broken("cases|1", {**small()["cases"][0], "ref": "C2"})
    assert read(data).cases["C2"].reserved_units == ("U1",)


# -- what is written --------------------------------------------------------------------------


@pytest.mark.parametrize("path", RECORDED, ids=lambda path: path.stem)
def test_reading_what_was_written_gives_the_recorded_scenario_again(path: Path) -> None:
    scenario = read_scenario(path.read_text("utf-8"))
    written = write_scenario(scenario)
    assert read_scenario(written) == scenario
    assert write_scenario(read_scenario(written)) == written


def test_reading_what_was_written_gives_the_small_scenario_again() -> None:
    scenario = read(small())
    assert read_scenario(write_scenario(scenario)) == scenario


@pytest.mark.parametrize("seed", range(60))
def test_reading_what_was_written_gives_random_scenarios_again(seed: int) -> None:
    scenario = read(random_scenarios.scenario(seed))
    assert read_scenario(write_scenario(scenario)) == scenario


def test_a_scenario_without_suppliers_is_written_without_them() -> None:
    data = broken("suppliers", ...)
    del data["implants"][0]["supplier"]
    assert "supplier" not in write_scenario(read(data))


def test_the_order_of_the_lists_does_not_change_what_is_written() -> None:
    data = small()
    for key in ("instruments", "trays", "shelf"):
        data[key].reverse()
    assert write_scenario(read(data)) == write_scenario(read(small()))
