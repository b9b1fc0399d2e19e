from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from deploy.kit.models import Site
from scheduling.errors import NotUsable, Refused
from scheduling.models import Case, PlanVersion, Technique
from scheduling.operations.plans import confirm, write_plan
from scheduling.operations.windows import keep_window
from tests import factories
from tests.factories import NOW

COMPONENTS = {"stem": {"system": "A", "size": 12}, "head": {"diameter": 36, "neck_length": -3.5}}
FACTS = {"approach": "posterior", "cup_retained": True, "osteotomy_mm": 120.5}


@pytest.fixture
def technique(site: Site) -> Technique:
    made = factories.technique(site)
    made.confirmations.create(code="liner looked at on film")
    return made


@pytest.fixture
def case(site: Site) -> Case:
    return factories.case(site)


@pytest.fixture
def write(case, technique, surgeon):
    def write(**changed) -> PlanVersion:
        values = {"technique": technique, "components": COMPONENTS, "facts": FACTS} | changed
        return write_plan(case=case, by=surgeon, now=NOW, **values)

    return write


def test_writes_versions_and_keeps_the_old_ones(case, write, surgeon):
    first, second = write(), write(facts={})
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.number, first.components, first.facts) == (1, COMPONENTS, FACTS)
    assert (second.number, second.facts) == (2, {})
    assert (second.made_by, second.made_at) == (surgeon.user, NOW)


def test_a_decimal_is_stored_as_the_number_it_is(write):
    plan = write(facts={"osteotomy_mm": Decimal("120.10")})
    plan.refresh_from_db()
    assert plan.facts == {"osteotomy_mm": 120.1}


def test_all_faults_of_a_plan_are_named_with_their_places(write, stranger):
    with pytest.raises(NotUsable) as refused:
        write(
            technique=factories.technique(stranger.site),
            components={"stem": {"sise": 12}, "head": {"diameter": True}},
            facts={"approach": ["posterior"]},
        )
    places = [fault.partition(":")[0] for fault in refused.value.values["faults"]]
    assert places == [
        "technique",
        "components.stem.sise",
        "components.head.diameter",
        "facts.approach",
    ]
    assert not PlanVersion.objects.exists()


def test_refuses_a_case_that_is_over(write):
    Case.objects.update(status="ended")
    with pytest.raises(Refused, match="Case C1 is ended"):
        write()


def test_the_database_refuses_a_version_twice(case, write, technique):
    write()
    with pytest.raises(IntegrityError), transaction.atomic():
        PlanVersion.objects.create(case=case, number=1, technique=technique, made_at=NOW)


def test_confirms_and_twice_is_harmless(write, surgeon):
    plan = write()
    given = confirm(plan=plan, code="liner looked at on film", by=surgeon, now=NOW)
    again = confirm(plan=plan, code="liner looked at on film", by=surgeon, now=NOW)
    assert given == again
    assert (given.plan, given.by, given.at) == (plan, surgeon.user, NOW)


def test_a_new_plan_asks_again(write, surgeon):
    old = write()
    confirm(plan=old, code="liner looked at on film", by=surgeon, now=NOW)
    assert not write().confirmed.exists()


def test_refuses_to_confirm_a_plan_that_was_replaced(write, surgeon):
    old = write()
    write()
    with pytest.raises(Refused, match=r"^Plan 1 of case C1 was replaced by plan 2\.$"):
        confirm(plan=old, code="liner looked at on film", by=surgeon, now=NOW)


def test_refuses_a_confirmation_that_the_technique_does_not_ask_for(write, surgeon):
    with pytest.raises(Refused, match="does not ask for “looks fine”"):
        confirm(plan=write(), code="looks fine", by=surgeon, now=NOW)


def test_keeps_windows_notes_and_what_was_confirmed_with_it(case, write, surgeon):
    plan = write(
        windows={"stem.size": (1, 3)},
        note=" bring the long ones ",
        confirmed=["liner looked at on film"],
    )
    plan.refresh_from_db()
    assert (plan.windows, plan.note) == ({"stem.size": [1, 3]}, "bring the long ones")
    given = plan.confirmed.get()
    assert (given.code, given.by) == ("liner looked at on film", surgeon.user)


def test_a_plan_made_for_an_older_version_is_refused(case, write):
    assert write(replaces=0).number == 1
    assert write(replaces=1).number == 2
    with pytest.raises(Refused, match="version 2 is in force now") as refused:
        write(replaces=1)
    assert refused.value.code == "plan_changed_meanwhile"
    assert case.plans.count() == 2


def test_a_confirmation_that_is_not_asked_leaves_no_plan_behind(case, write):
    with pytest.raises(Refused, match="does not ask for"):
        write(confirmed=["something else"])
    assert not case.plans.exists()


def test_another_surgeons_window_is_a_fault(site, write, technique, surgeon, other_surgeon):
    theirs = keep_window(
        surgeon=other_surgeon.user.surgeon,
        technique=technique,
        name="Usual",
        components={},
        facts={},
        windows={},
        by=other_surgeon,
        now=NOW,
    )
    with pytest.raises(NotUsable, match="window: of another surgeon"):
        write(window=theirs)
