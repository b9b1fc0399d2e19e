"""What the record says about sizes is in force when a person accepts it."""

from __future__ import annotations

import pytest

from implants.models import Implant, UnitMove
from scheduling.errors import Refused
from scheduling.models import HouseSettings, SizeDifference
from scheduling.operations.size_differences import accept_size_difference
from scheduling.size_risk.difference import Basis
from scheduling.size_risk.kept import accepted_differences, implanted_sizes, in_force
from scheduling.size_risk.record import Line
from tests import factories
from tests.factories import NOW
from tests.scheduling.size_risk.house_record import least, past_cases, somebody, used

A = Line("stem", "A")
SIZES = [(12, 12), (12, 13), (11, 11)]
SEEN = {0: 2, 1: 1}


@pytest.fixture
def stems(site) -> dict[int, Implant]:
    HouseSettings.objects.get_or_create(site=site)
    least(site, 3)
    return {
        size: factories.implant(site, f"ST-{size}", size=size, system="A", offset="standard")
        for size in (11, 12, 13)
    }


@pytest.fixture
def record(site, stems, surgeon) -> None:
    past_cases(site, stems, SIZES, surgeon.user.surgeon)


def refused(code, **values):
    with pytest.raises(Refused) as caught:
        accept_size_difference(now=NOW, **values)
    assert caught.value.code == code
    assert not SizeDifference.objects.exists()


@pytest.mark.usefixtures("record")
class TestAccepting:
    def test_the_record_is_in_force_with_who_and_when(self, site, coordinator):
        made = accept_size_difference(line=A, seen=SEEN, by=coordinator, now=NOW)
        assert (made.by, made.at, made.record) == (coordinator.user, NOW, {"0": 2, "1": 1})
        found = accepted_differences(site)
        assert found[A, ""].record == SEEN
        difference = in_force(found, A, "Surgeon One", 3)
        assert (difference.basis, difference.cases) == (Basis.RECORD, 3)
        assert difference.chances == pytest.approx({0: 2 / 3, 1: 1 / 3})

    def test_it_is_the_record_that_was_looked_at(self, coordinator):
        refused("size_record_changed", line=A, seen={0: 3}, by=coordinator)

    def test_too_few_cases_are_no_record(self, site, coordinator):
        least(site, 4)
        refused("size_record_too_small", line=A, seen=SEEN, by=coordinator)

    def test_a_line_without_a_record(self, coordinator):
        refused("size_record_changed", line=Line("stem", "Z"), seen=SEEN, by=coordinator)
        refused("size_record_too_small", line=Line("stem", "Z"), seen={}, by=coordinator)

    def test_the_stranger_has_no_part_in_it(self, site, stranger):
        HouseSettings.objects.get_or_create(site=stranger.site)
        refused("size_record_changed", line=A, seen=SEEN, by=stranger)

    def test_a_newer_one_stands_beside_the_older(self, site, stems, coordinator):
        accept_size_difference(line=A, seen=SEEN, by=coordinator, now=NOW)
        case = factories.case(site, "ONE-MORE", status="ended")
        used(case, stems[13], 99, system="A", size=13)
        accept_size_difference(line=A, seen={0: 3, 1: 1}, by=coordinator, now=NOW)
        assert SizeDifference.objects.count() == 2
        assert accepted_differences(site)[A, ""].record == {0: 3, 1: 1}

    def test_with_a_greater_minimum_it_is_not_in_force_any_more(self, site, coordinator):
        accept_size_difference(line=A, seen=SEEN, by=coordinator, now=NOW)
        assert in_force(accepted_differences(site), A, "Surgeon One", 4).basis is Basis.PRIOR


@pytest.mark.usefixtures("record")
class TestOfOneSurgeon:
    OWN = {0: 2, 1: 1}

    @pytest.fixture
    def accept(self, site, stems, coordinator):
        """A fourth case is of nobody's; the surgeon has three."""
        used(factories.case(site, "NOBODY", status="ended"), stems[13], 99, system="A", size=11)

        def do(surgeon, seen):
            return accept_size_difference(
                line=A, surgeon=surgeon, seen=seen, by=coordinator, now=NOW
            )

        return do

    def test_it_counts_for_that_surgeon_and_for_nobody_else(self, site, accept):
        made = accept("Surgeon One", self.OWN)
        assert made.surgeon.name == "Surgeon One"
        found = accepted_differences(site)
        own = in_force(found, A, "Surgeon One", 3)
        assert (own.basis, own.cases) == (Basis.SURGEON, 3)
        for other in ("Surgeon Two", ""):
            assert in_force(found, A, other, 3).basis is Basis.PRIOR

    def test_with_too_few_of_their_own_the_line_counts(self, site, accept):
        accept("Surgeon One", self.OWN)
        accept("", self.OWN | {2: 1})
        found = in_force(accepted_differences(site), A, "Surgeon One", 4)
        assert (found.basis, found.cases) == (Basis.RECORD, 4)

    @pytest.mark.parametrize(
        ("whose", "seen", "code"),
        [
            ("Surgeon One", {0: 3}, "size_record_changed"),
            ("Nobody", {0: 3}, "size_record_changed"),
            ("Nobody", {}, "size_record_too_small"),
        ],
    )
    def test_only_what_was_looked_at(self, accept, whose, seen, code):
        with pytest.raises(Refused) as caught:
            accept(whose, seen)
        assert caught.value.code == code


class TestTheRecord:
    def test_who_used_what(self, site, record, django_assert_num_queries):
        with django_assert_num_queries(1):
            found = implanted_sizes(site)
        assert [(one.planned, one.used) for one in found] == SIZES
        assert {one.surgeon for one in found} == {"Surgeon One"}

    def test_a_plan_without_a_size_says_nothing(self, site, stems):
        used(factories.case(site, "C9", status="ended"), stems[12], 1, ref="ST-12")
        assert implanted_sizes(site) == []

    def test_a_plan_that_names_no_system_means_the_one_used(self, site, stems):
        used(factories.case(site, "C9", status="ended"), stems[12], 1, size=11)
        (found,) = implanted_sizes(site)
        assert (found.planned_line, found.used_line) == (A, A)

    def test_what_was_taken_back_as_a_wrong_entry_is_left_out(self, site, stems):
        unit = used(factories.case(site, "C9", status="ended"), stems[12], 1, system="A", size=11)
        assert len(implanted_sizes(site)) == 1
        unit.movements.create(
            seq=3,
            move=UnitMove.objects.get(from_state="implanted", to_state="quarantine"),
            at=NOW,
            day=NOW.date(),
            by=somebody("one"),
            second=somebody("two"),
            reason="typed wrongly",
            hold="typed wrongly",
        )
        assert implanted_sizes(site) == []
