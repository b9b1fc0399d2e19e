"""Techniques, plans and the house's own figures as workbooks."""

from __future__ import annotations

from datetime import date, time

import pytest

from deploy.kit.imports.results import Outcome
from deploy.kit.models import Person, Site
from scheduling.models import (
    Case,
    ClosedDate,
    OpeningHours,
    PlanVersion,
    Technique,
    Theatre,
)
from scheduling.workbooks.house import House
from scheduling.workbooks.plans import Plans
from scheduling.workbooks.techniques import Techniques
from tests import factories
from tests.scheduling.workbooks.books import changes, proposed, reasons, written

HEAD = [{"Technique": "REV", "Name": "Revision"}]
RULE = {
    "Technique": "REV",
    "Role": "stem",
    "Need": "contingency",
    "Select": "size: at stem.size, 1 below, 1 above; offset: stem.offset",
}
PLAN = [{"Case": "C1", "Technique": "REV"}]
STEM = {"Case": "C1", "Role": "stem", "Size": 12, "Offset": "high"}
FACT = {"Case": "C1", "Fact": "approach", "Value": "posterior"}


@pytest.fixture
def catalogue(site: Site) -> None:
    factories.implant(site, "STEM-12", size=12, offset="high")
    factories.configuration(site)


def test_a_technique_is_what_its_rows_say(site: Site, catalogue: None, coordinator: Person) -> None:
    sets = [{"Technique": "REV", "Purpose": "femur", "Options": "BASE", "When": "cup is no"}]
    written(proposed(Techniques(), site, Techniques=HEAD, Sets=sets, Rules=[RULE]), coordinator)
    technique = Technique.objects.get()
    (rule,), (asked,) = technique.rules.all(), technique.sets.all()
    assert rule.select == {
        "size": {"ladder": {"at": {"plan": "stem.size"}, "below": 1, "above": 1}},
        "offset": {"plan": "stem.offset"},
    }
    assert (asked.options, asked.when) == ([["BASE"]], {"cup": False})
    without = proposed(Techniques(), site, Techniques=HEAD, Rules=[RULE])
    assert changes(without) == [("Sets", "femur", "no longer there, or changed")]
    written(without, coordinator)
    assert not technique.sets.exists()


def test_what_a_techniques_workbook_refuses(site: Site, catalogue: None) -> None:
    proposal = proposed(
        Techniques(),
        site,
        Techniques=HEAD,
        Sets=[{"Technique": "REV", "Purpose": "femur", "Options": "GONE"}],
        Rules=[{**RULE, "Technique": "X", "Role": "cable", "Select": "size 12", "Quantity": 0}],
    )
    assert reasons(proposal) == [
        "Options: option 1: there is no configuration GONE.",
        "Technique: X is not on the sheet Techniques. Add it there.",
        "Quantity: 1 or more.",
        "Select: line 1: write an attribute, a colon and what it must be: size: stem.size",
    ]


@pytest.fixture
def case(site: Site, coordinator: Person) -> Case:
    Technique.objects.create(site=site, code="REV")
    return factories.case(site, "C1")


def test_a_plan_is_written_and_its_next_version_only_where_it_differs(
    site: Site, case: Case, coordinator: Person
) -> None:
    sent = {"Plans": PLAN, "Components": [STEM], "Facts": [FACT]}
    written(proposed(Plans(), site, **sent), coordinator)
    plan = PlanVersion.objects.get()
    assert (plan.number, plan.components, plan.facts, plan.made_by) == (
        1,
        {"stem": {"size": 12, "offset": "high"}},
        {"approach": "posterior"},
        coordinator.user,
    )
    again = proposed(Plans(), site, **sent)
    assert {row.outcome for row in again.comparison.rows} == {Outcome.SAME}
    other = {**sent, "Components": [{**STEM, "Size": 13}], "Facts": []}
    proposal = proposed(Plans(), site, **other)
    assert changes(proposal)[:2] == [
        ("Components: stem", "offset high, size 12", "offset high, size 13"),
        ("Facts: approach", "there", "left out"),
    ]
    written(proposal, coordinator)
    assert PlanVersion.objects.count() == 2


def test_what_a_plans_workbook_refuses(site: Site, case: Case) -> None:
    proposal = proposed(
        Plans(),
        site,
        Plans=[{"Case": "C9", "Technique": "NONE"}],
        Components=[{"Case": "C1", "Role": "stem", "Quantity": 0}],
        Facts=[{"Case": "C9", "Fact": "cup", "Value": 'a "'}],
    )
    assert reasons(proposal) == [
        "Case: C9 is not booked. Import the case list first.",
        "Technique: there is no NONE. Import the techniques first.",
        "Case: C1 is not on the sheet Plans. Add it there with its technique.",
        "Quantity: 1 or more.",
        "REF: name the item by its REF or by its attributes.",
        'Value: “a "” is not a value: after “is” stand words, numbers, yes or no',
    ]


def test_the_house_gains_and_loses_nothing(site: Site, coordinator: Person) -> None:
    before = OpeningHours.objects.count()
    sent = {
        "Theatres": [{"Theatre": "Theatre 1"}],
        "Opening_hours": [{"Day": "Sunday", "Opens": time(8), "Closes": time(0)}],
        "Closed_dates": [{"Date": date(2027, 12, 27)}],
    }
    written(proposed(House(), site, **sent), coordinator)  # type: ignore[arg-type]
    assert Theatre.objects.get().code == "Theatre 1"
    assert ClosedDate.objects.get().day == date(2027, 12, 27)
    sunday = OpeningHours.objects.get(weekday=6)
    assert (sunday.opens_minute, sunday.closes_minute) == (480, 1440)
    assert OpeningHours.objects.count() == before + 1
    again = proposed(House(), site, **sent)  # type: ignore[arg-type]
    assert {row.outcome for row in again.comparison.rows} == {Outcome.SAME}
    late = [{"Day": "Sunday", "Opens": time(9), "Closes": time(8)}]
    assert reasons(proposed(House(), site, Opening_hours=late)) == ["Closes: not before it opens."]
