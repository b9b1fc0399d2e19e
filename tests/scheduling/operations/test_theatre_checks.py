from __future__ import annotations

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from implants.models import Unit
from implants.operations.holds import quarantine
from implants.operations.theatre import put_back
from implants.states import UnitState
from scheduling.errors import Refused
from scheduling.models import CaseStatus, LabelCheck, Opening, TaperPair
from scheduling.operations.theatre_boxes import record_wasted
from scheduling.operations.theatre_checks import check_label, open_box
from scheduling.theatre.waste import WasteReason
from tests import factories
from tests.factories import NOW
from tests.scheduling.theatre.hip import Hip, hip
from trays.stages import Stage


@pytest.fixture
def of(site) -> Hip:
    return hip(site)


@pytest.fixture
def check(of, theatre_team):
    def check_it(text: str, by=theatre_team) -> LabelCheck:
        return check_label(case=of.case, text=text, by=by, now=NOW)

    return check_it


@pytest.fixture
def opened(check, theatre_team):
    def open_it(text: str, **values) -> Opening:
        return open_box(check=check(text), by=theatre_team, now=NOW, **values)

    return open_it


def told(made: LabelCheck) -> tuple[str, str]:
    return made.answer, made.reason["code"]


def refused(code, act, *args, **values):
    with pytest.raises(Refused) as caught:
        act(*args, **values)
    assert caught.value.code == code


class TestTheCheck:
    def test_a_box_of_the_list_matches_and_is_picked(self, of, check, theatre_team):
        made = check("STEM")
        assert told(made) == ("MATCHES LIST", "matches")
        assert (made.unit, made.case, made.by) == (of.boxes["STEM"], of.case, theatre_team.user)
        box = Unit.objects.get(code="STEM")
        assert (box.state, box.case_ref) == (UnitState.PICKED, "C1")
        assert not Opening.objects.exists()

    def test_again_is_harmless(self, check):
        check("STEM")
        assert told(check("STEM")) == ("MATCHES LIST", "matches")
        assert Unit.objects.get(code="STEM").seq == 2

    @pytest.mark.parametrize(
        ("text", "code"),
        [
            ("rubbish", "unreadable"),
            ("ELSE-32", "other item"),
            ("REF ST-12 LOT NOT-THIS", "other lot"),
            ("BASE/9", "unreadable"),
        ],
    )
    def test_stops_and_moves_nothing(self, check, text, code):
        assert told(check(text)) == ("STOP", code)
        assert not Unit.objects.filter(state=UnitState.PICKED).exists()

    def test_expired_held_and_recalled_are_stopped_first(self, of, check, coordinator):
        Unit.objects.filter(code="STEM").update(expiry=date(2027, 2, 28))
        assert told(check("STEM")) == ("STOP", "expired")
        quarantine(unit=of.boxes["HEAD"], reason="dropped", by=coordinator, now=NOW)
        assert told(check("HEAD")) == ("STOP", "on hold")

    def test_the_wrong_side_is_said_before_that_it_is_off_the_list(self, of, check):
        right = factories.implant(of.site, "ST-R", "stem", size=12, side="right")
        factories.unit(right, "RIGHT")
        made = check("RIGHT")
        assert told(made) == ("STOP", "other side")
        assert made.reason["asked"] == "LEFT side, for case C1"
        assert made.reason["read"] == "stem, size 12, RIGHT"

    def test_a_box_that_another_case_holds(self, of, check):
        other = factories.case(of.site, "C9")
        factories.promised_unit(other, of.boxes["ELSE-32"])
        assert told(check("ELSE-32"))[0] == "STOP"
        factories.promised_unit(other, of.boxes["STEM"])
        assert told(check("STEM")) == ("STOP", "promised to another case")

    def test_a_case_that_is_over(self, of, check):
        of.case.status = CaseStatus.ENDED
        of.case.save()
        assert told(check("STEM")) == ("STOP", "case is over")

    def test_a_tray_comes_into_theatre(self, of, check):
        assert told(check("BASE/1")) == ("MATCHES LIST", "matches")
        of.tray.refresh_from_db()
        assert (of.tray.stage, of.tray.case_ref) == (Stage.IN_THEATRE, "C1")
        assert told(check("BASE/1"))[0] == "ALREADY SCANNED"

    def test_refuses_the_stranger(self, of, stranger):
        made = check_label(case=of.case, text="STEM", by=stranger, now=NOW)
        assert told(made) == ("STOP", "not taken")

    def test_refuses_the_read_only(self, check, manager):
        assert told(check("STEM", by=manager)) == ("STOP", "not taken")


class TestAgainstWhatIsIn:
    @pytest.fixture
    def shell_and_head(self, opened):
        opened("SHELL")
        opened("HEAD")

    def test_what_goes_with_them_matches(self, shell_and_head, check):
        assert told(check("LINER")) == ("MATCHES LIST", "matches")
        assert told(check("STEM")) == ("MATCHES LIST", "matches")

    @pytest.mark.parametrize(
        ("change", "code", "asked", "read"),
        [
            (
                {"inner_diameter": 32},
                "head and liner differ",
                "liner for diameter 36 mm: head, \N{LATIN CAPITAL LETTER O WITH STROKE} 36 mm, "
                "box HEAD",
                "inner diameter 32 mm: liner, inner \N{LATIN CAPITAL LETTER O WITH STROKE} 32 mm, "
                "group D, LOT L-LINER, box LINER",
            ),
            (
                {"group": "E"},
                "liner and shell differ",
                "liner for group D: shell, \N{LATIN CAPITAL LETTER O WITH STROKE} 54 mm, group D, "
                "box SHELL",
                "group E: liner, inner \N{LATIN CAPITAL LETTER O WITH STROKE} 36 mm, group E, "
                "LOT L-LINER, box LINER",
            ),
        ],
    )
    def test_what_does_not_is_stopped_with_both_values(
        self, of, shell_and_head, check, change, code, asked, read
    ):
        liner = of.boxes["LINER"].implant
        liner.attributes |= change
        liner.save()
        made = check("LINER")
        assert told(made) == ("STOP", code)
        assert (made.reason["asked"], made.reason["read"]) == (asked, read)

    def test_one_that_is_off_the_list_too_is_held_against_what_is_in(self, shell_and_head, check):
        made = check("ELSE-32")
        assert told(made) == ("STOP", "head and liner differ")
        assert "Also: Other item. The list asks for" in made.reason["note"]

    def test_one_that_may_not_be_used_says_the_misfit_beside(
        self, of, shell_and_head, check, coordinator
    ):
        quarantine(unit=of.boxes["ELSE-32"], reason="dropped", by=coordinator, now=NOW)
        made = check("ELSE-32")
        assert told(made) == ("STOP", "on hold")
        assert "Also: Head and liner differ." in made.reason["note"]

    def test_a_pair_of_tapers_without_a_declaration_is_not_known(self, shell_and_head, check):
        TaperPair.objects.all().delete()
        assert told(check("STEM")) == ("STOP", "head and stem tapers not known")

    def test_a_wasted_box_is_in_no_more(self, of, shell_and_head, check, theatre_team):
        TaperPair.objects.all().delete()
        record_wasted(
            case=of.case, unit=of.boxes["HEAD"], why=WasteReason.DROPPED, by=theatre_team, now=NOW
        )
        assert told(check("STEM")) == ("MATCHES LIST", "matches")


class TestOpening:
    def test_a_box_that_matches(self, of, opened, theatre_team):
        made = opened("STEM")
        assert (made.unit, made.override, made.second) == (of.boxes["STEM"], "", None)
        assert made.check_made.answer == "MATCHES LIST"

    def test_again_is_harmless(self, opened):
        assert opened("STEM") == opened("STEM")

    def test_a_label_that_was_checked_is_judged_again(self, of, check, theatre_team, coordinator):
        made = check("STEM")
        quarantine(unit=of.boxes["STEM"], reason="recall", by=coordinator, now=NOW)
        refused("opening_takes_reason", open_box, check=made, by=theatre_team, now=NOW)

    def test_going_past_a_stop_takes_a_reason_and_keeps_it(self, opened):
        refused("opening_takes_reason", opened, "ELSE-32")
        refused("opening_takes_reason", opened, "ELSE-32", reason="  ")
        made = opened("ELSE-32", reason="bone would not take the other")
        assert made.override == "bone would not take the other"
        assert made.check_made.reason["code"] == "other item"
        assert Unit.objects.get(code="ELSE-32").case_ref == "C1"

    def test_what_may_not_be_used_takes_two_people(self, of, opened, theatre_team, coordinator):
        quarantine(unit=of.boxes["STEM"], reason="dropped", by=coordinator, now=NOW)
        refused("opening_takes_two", opened, "STEM", reason="the only one")
        refused("opening_takes_two", opened, "STEM", reason="the only one", second=theatre_team)
        made = opened("STEM", reason="the only one", second=coordinator)
        assert made.second == coordinator.user
        assert Unit.objects.get(code="STEM").state == UnitState.QUARANTINE

    def test_one_that_another_case_holds_is_taken_from_it(self, of, opened):
        other = factories.case(of.site, "C9")
        held = factories.promised_unit(other, of.boxes["STEM"])
        opened("STEM", reason="the only one")
        held.refresh_from_db()
        assert held.freed_at == NOW
        assert Unit.objects.get(code="STEM").case_ref == "C1"

    @pytest.mark.parametrize("text", ["rubbish", "01020000000000220LX"])
    def test_what_nobody_knows_is_not_opened_here(self, opened, text):
        refused("opening_not_possible", opened, text, reason="needed")

    def test_a_box_that_was_opened_for_another_case(self, of, opened, check, theatre_team):
        opened("STEM")
        other = factories.case(of.site, "C9", start=NOW)
        made = check_label(case=other, text="STEM", by=theatre_team, now=NOW)
        refused("opened_elsewhere", open_box, check=made, by=theatre_team, now=NOW, reason="x")

    def test_the_database_lets_no_opened_box_back_to_the_shelf(self, of, opened, theatre_team):
        opened("STEM")
        with pytest.raises(IntegrityError), transaction.atomic():
            put_back(unit=of.boxes["STEM"], by=theatre_team, now=NOW)


@pytest.mark.parametrize(("text", "queries"), [("STEM", 33), ("BASE/1", 41), ("rubbish", 7)])
def test_costs_a_fixed_number_of_queries(
    of, theatre_team, django_assert_num_queries, text, queries
):
    with django_assert_num_queries(queries):
        check_label(case=of.case, text=text, by=theatre_team, now=NOW)
