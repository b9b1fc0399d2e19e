from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404

from scheduling.access import case_for, case_to_plan, cases_for, is_theirs, may_plan
from tests import factories


@pytest.fixture
def cases(site, stranger, surgeon, other_surgeon):
    return [
        factories.case(site, "C1", surgeon=surgeon.user.surgeon),
        factories.case(site, "C2", surgeon=other_surgeon.user.surgeon),
        factories.case(site, "C3"),
        factories.case(stranger.site, "ELSEWHERE"),
    ]


@pytest.mark.parametrize(
    ("who", "refs"),
    [
        ("sterile_services", ["C1", "C2", "C3"]),
        ("coordinator", ["C1", "C2", "C3"]),
        ("theatre_team", ["C1", "C2", "C3"]),
        ("manager", ["C1", "C2", "C3"]),
        ("surgeon", ["C1"]),
        ("other_surgeon", ["C2"]),
        ("stranger", ["ELSEWHERE"]),
    ],
)
def test_whose_cases_one_may_read(who, refs, cases, request):
    person = request.getfixturevalue(who)
    assert [case.ref for case in cases_for(person).order_by("ref")] == refs
    for case in cases:
        if case.ref in refs:
            assert case_for(person, case.pk) == case
        else:
            with pytest.raises(Http404):
                case_for(person, case.pk)


def test_no_case_and_not_yours_are_the_same_answer(surgeon, cases):
    answers = []
    for pk in (cases[1].pk, 999_999):
        with pytest.raises(Http404) as refused:
            case_for(surgeon, pk)
        answers.append(str(refused.value))
    assert answers[0] == answers[1]


def test_an_account_without_a_role_reads_nothing(cases, manager):
    manager.user.groups.clear()
    assert not cases_for(manager).exists()


def test_a_colleague_reads_and_plans_and_it_is_not_theirs(cases, surgeon, other_surgeon):
    other_surgeon.user.surgeon.colleagues.add(surgeon.user)
    assert [case.ref for case in cases_for(surgeon).order_by("ref")] == ["C1", "C2"]
    theirs = case_to_plan(surgeon, cases[1].pk)
    assert may_plan(surgeon, theirs)
    assert not is_theirs(surgeon, theirs)
    assert is_theirs(surgeon, case_to_plan(surgeon, cases[0].pk))
    # Not the other way round.
    assert [case.ref for case in cases_for(other_surgeon)] == ["C2"]


def test_who_may_read_a_case_may_not_plan_it(cases, coordinator):
    with pytest.raises(PermissionDenied):
        case_to_plan(coordinator, cases[0].pk)


def test_a_case_without_a_surgeon_is_nobodys_to_plan(cases, surgeon):
    assert not may_plan(surgeon, cases[2])
