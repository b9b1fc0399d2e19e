from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from implants.models import Unit
from implants.operations.holds import quarantine
from implants.states import UnitState
from scheduling.models import CaseStatus, LabelCheck, Opening
from tests import factories
from tests.factories import NOW, PASSWORD, PIN
from tests.scheduling.theatre.hip import Hip, hip


@pytest.fixture
def of(site) -> Hip:
    return hip(site)


@pytest.fixture
def team(of, theatre_team, client_of):
    """A browser of the theatre team, and what its page says after a post."""
    client = client_of(theatre_team)

    def post(name, **form) -> str:
        url = reverse(name, args=[] if name == "theatre" else [of.case.pk])
        return client.post(url, form, follow=True).content.decode()

    return post


def opened(team, code) -> None:
    team("in_theatre", text=code)
    team("theatre_open", check=LabelCheck.objects.latest("pk").pk)


class TestOpeningACase:
    def test_by_the_lists_code_by_its_link_and_by_the_reference(self, of, theatre_team, client_of):
        client, page = client_of(theatre_team), reverse("in_theatre", args=[of.case.pk])
        code = of.printed.pick_list.code
        for text in (code, code.lower(), f"HTTP://127.0.0.1:8000/l/{code}/1/", "C1", "c1"):
            assert client.post(reverse("theatre"), {"text": text}).url == page

    def test_what_is_no_case(self, team):
        assert "is neither a case nor the list of one case" in team("theatre", text="STEM")

    def test_todays_cases_are_offered(self, of, theatre_team, client_of):
        page = client_of(theatre_team).get(reverse("theatre")).content.decode()
        assert reverse("in_theatre", args=[of.case.pk]) in page


class TestTheCheck:
    def test_a_match_offers_the_opening(self, of, team):
        page = team("in_theatre", text="STEM")
        assert '<p class="answer__word">MATCHES LIST</p>' in page
        assert "It is opened" in page
        page = team("theatre_open", check=LabelCheck.objects.get().pk)
        assert "Box STEM is recorded as opened." in page
        assert Opening.objects.get().unit == of.boxes["STEM"]

    def test_a_stop_says_both_values_and_the_way_past_it(self, team):
        opened(team, "HEAD")
        page = team("in_theatre", text="ELSE-32")
        assert '<p class="answer__word">STOP</p>' in page
        assert "<dt>The case asks for</dt><dd>liner for diameter 36 mm" in page
        assert "<dt>Scanned</dt><dd>inner diameter 32 mm" in page
        assert "Needed all the same" in page
        assert "Second person" not in page

    @pytest.fixture
    def alike(self, of) -> list[Unit]:
        """Three boxes off the list, of one REF and LOT: told apart by use-by date and place."""
        item = of.boxes["ELSE-32"].implant
        return [
            factories.unit(item, code, lot="X9", expiry=expiry, location=place)
            for code, expiry, place in (
                ("B71", date(2030, 1, 31), "R-1"),
                ("B72", date(2031, 1, 31), "R-2"),
                ("B73", date(2031, 1, 31), "R-3"),
            )
        ]

    def test_a_label_on_several_boxes_asks_which_and_a_digit_says_it(self, team, alike):
        page = team("in_theatre", text="LN-32 X9")
        assert "The label fits several boxes of the house" in page
        assert "use by 31 Jan 2030</strong> · R-1 · box" in page
        assert page.count('name="among"') == 3
        assert "have this label and no number here" not in page
        page = team("in_theatre", text="2", among=[unit.code for unit in alike])
        made = LabelCheck.objects.latest("pk")
        assert (made.unit, made.answer) == (alike[1], "STOP")
        assert "Needed all the same" in page
        assert 'name="among"' not in page

    def test_more_than_a_digit_can_say_are_told_by_their_own_codes(self, of, team, alike):
        item = of.boxes["ELSE-32"].implant
        others = [factories.unit(item, f"C/{n}", lot="X9", location="R-9") for n in range(4, 12)]
        page = team("in_theatre", text="LN-32 X9")
        assert page.count('name="among"') == 9
        assert 'Which box is in your hand? <span class="quiet">11</span>' in page
        assert "<strong>2 more</strong> have this label and no number here." in page
        assert 'name="among" value="C/9"' in page
        assert 'name="among" value="C/10"' not in page
        team("in_theatre", text=others[-1].code)
        assert LabelCheck.objects.latest("pk").unit == others[-1]

    @pytest.mark.parametrize("text", ["4", "0", "12"])
    def test_what_is_no_number_on_the_page_is_read_as_what_it_is(self, team, alike, text):
        team("in_theatre", text=text, among=[unit.code for unit in alike])
        assert LabelCheck.objects.latest("pk").read == text

    def test_where_one_box_is_meant_nothing_is_asked(self, team, alike):
        assert 'name="among"' not in team("in_theatre", text="LN-32 L-ELSE-32")
        assert 'name="among"' not in team("in_theatre", text=alike[0].code)
        # What was never checked for the case cannot be recorded as used: the check comes first.
        assert 'name="among"' not in team("in_theatre", text="LN-32 X9", act="implanted")

    def test_past_a_stop_without_a_reason(self, team):
        team("in_theatre", text="ELSE-32")
        page = team("theatre_open", check=LabelCheck.objects.get().pk)
        assert "Not recorded. Opening or using it after a STOP takes a reason." in page
        assert not Opening.objects.exists()

    @pytest.mark.parametrize(
        ("typed", "said", "number"),
        [
            ({}, "that is not your PIN or password", 0),
            ({"signed_with": "guessed"}, "that is not your PIN or password", 0),
            ({"signed_with": PIN}, "recorded as opened", 1),
        ],
    )
    def test_whoever_goes_past_a_stop_signs(self, team, theatre_team, typed, said, number):
        factories.with_pin(theatre_team)
        assert 'name="signed_with"' in team("in_theatre", text="ELSE-32")
        check = LabelCheck.objects.get().pk
        page = team("theatre_open", check=check, reason="no other is here", **typed)
        assert said in page
        assert Opening.objects.count() == number
        # What was typed stands there still where the signature failed.
        assert ('value="no other is here"' in page) is (number == 0)
        assert 'value="no other is here"' not in team("in_theatre", text="ELSE-32")

    def test_what_nobody_knows_offers_no_way_past(self, team):
        page = team("in_theatre", text="rubbish")
        assert "STOP" in page
        assert "Needed all the same" not in page

    def test_it_never_says_that_an_implant_is_right(self, team):
        page = team("in_theatre", text="STEM")
        assert "compatible" not in page
        assert ">OK<" not in page

    def test_the_answer_of_another_case_is_not_shown(self, of, team, theatre_team, client_of):
        team("in_theatre", text="STEM")
        other = factories.case(of.site, "C9")
        url = reverse("in_theatre", args=[other.pk])
        answer = client_of(theatre_team).get(f"{url}?answer={LabelCheck.objects.get().pk}")
        assert "MATCHES LIST" not in answer.content.decode()


class TestTwoPeople:
    @pytest.fixture
    def held(self, of, team, coordinator):
        quarantine(unit=of.boxes["STEM"], reason="dropped", by=coordinator, now=NOW)
        coordinator.user.set_password(PASSWORD)
        coordinator.user.save()
        page = team("in_theatre", text="STEM")
        assert 'name="second_pin"' in page
        return {"check": LabelCheck.objects.get().pk, "reason": "the only one"}

    def test_a_second_person_signs(self, team, held, coordinator):
        page = team("theatre_open", **held, second="coordinator", second_pin=PASSWORD)
        assert "recorded as opened" in page
        assert Opening.objects.get().second == coordinator.user

    @pytest.mark.parametrize(
        ("second", "secret", "said"),
        [
            ("coordinator", "guessed", "that is not the PIN or password of Coordinator"),
            ("nobody", PASSWORD, "no badge and no user name here is"),
            ("", "", "This takes a second person"),
        ],
    )
    def test_nobody_else(self, team, held, second, secret, said):
        assert said in team("theatre_open", **held, second=second, second_pin=secret)
        assert not Opening.objects.exists()


class TestWhatCameOfIt:
    def test_implanted_by_a_scan_of_the_peeled_label(self, team):
        opened(team, "STEM")
        page = team("in_theatre", text="STEM", act="implanted")
        assert '<p class="answer__word">RECORDED</p>' in page
        assert "Recorded as implanted" in page
        assert Unit.objects.get(code="STEM").state == UnitState.IMPLANTED
        assert "ALREADY SCANNED" in team("in_theatre", text="STEM", act="implanted")

    def test_never_by_a_digit(self, team):
        """A number that was asked for a check, and typed once more after the act was changed."""
        opened(team, "STEM")
        page = team("in_theatre", text="1", among=["STEM"], act="implanted")
        assert "Recorded as implanted" not in page
        assert Unit.objects.get(code="STEM").state == UnitState.PICKED

    def test_an_unopened_one_is_checked_on_the_way(self, of, team):
        page = team("in_theatre", text="STEM", act="implanted")
        assert "Recorded as implanted" in page
        assert Opening.objects.get().unit == of.boxes["STEM"]

    def test_one_that_does_not_match_is_not(self, team):
        opened(team, "HEAD")
        team("in_theatre", text="LINER")
        liner = Unit.objects.get(code="LINER").implant
        liner.attributes["inner_diameter"] = 32
        liner.save()
        assert "Head and liner differ" in team("in_theatre", text="LINER", act="implanted")
        assert Unit.objects.get(code="LINER").state == UnitState.PICKED

    def test_wasted_by_scan_with_a_reason_from_the_list(self, team):
        opened(team, "STEM")
        page = team("in_theatre", text="STEM", act="wasted", why="dropped")
        assert "Recorded as wasted" in page
        box = Unit.objects.get(code="STEM")
        assert box.movements.get(seq=box.seq).reason == "dropped"

    def test_back_unopened_by_scan(self, team):
        team("in_theatre", text="STEM")
        assert "Recorded as returned unopened" in team(
            "in_theatre", text="STEM", act="returned unopened"
        )
        assert Unit.objects.get(code="STEM").state == UnitState.ON_THE_SHELF

    def test_an_opened_one_does_not_go_back(self, team):
        opened(team, "STEM")
        page = team("in_theatre", text="STEM", act="returned unopened")
        assert "STOP" in page
        assert "it does not go back to the shelf" in page

    def test_a_box_that_is_not_of_the_case(self, team):
        assert "Not taken for this case" in team("in_theatre", text="ELSE-E", act="wasted")

    def test_by_button(self, team):
        opened(team, "STEM")
        seq = Unit.objects.get(code="STEM").seq
        page = team("theatre_record", unit="STEM", outcome="implanted", seq=seq)
        assert "Box STEM is recorded as implanted." in page

    def test_wasted_by_button_takes_a_reason_that_somebody_chose(self, team):
        opened(team, "STEM")
        page = team("theatre_record", unit="STEM", outcome="wasted", why="")
        assert "Not recorded. Choose why box STEM is wasted." in page
        assert Unit.objects.get(code="STEM").state == UnitState.PICKED
        # By scan the list begins with "other", which says that none was chosen.
        assert '<option value="other" selected>' in page

    def test_by_a_button_that_is_out_of_date(self, team):
        opened(team, "STEM")
        page = team("theatre_record", unit="STEM", outcome="wasted", why="dropped", seq=1)
        assert "was changed by someone else meanwhile" in page
        assert Unit.objects.get(code="STEM").state == UnitState.PICKED


def test_a_case_without_a_printed_list_says_so(of, team, theatre_team, client_of):
    client = client_of(theatre_team)
    no_list = "No pick list has been printed for this case"

    def page(case):
        return client.get(reverse("in_theatre", args=[case.pk])).content.decode()

    assert no_list not in page(of.case)
    assert no_list in page(factories.case(of.case.site, "C9"))


def test_start_and_end(of, team):
    of.case.status = CaseStatus.BOOKED
    of.case.save()
    assert "Case C1 has started." in team("theatre_start")
    opened(team, "STEM")
    page = team("theatre_end")
    assert "Case C1 has ended." in page
    assert "The case is ended. Choose above what came of a box, then scan it." in page
    assert "<strong>1</strong> box or tray still to be accounted for: the case is ended" in page


class TestDoors:
    NAMES = ("in_theatre", "theatre_open", "theatre_record", "theatre_start", "theatre_end")

    def test_refuses_the_stranger(self, of, stranger, client_of):
        client = client_of(stranger)
        for name in self.NAMES:
            url = reverse(name, args=[of.case.pk])
            assert client.post(url, {"text": "STEM"}).status_code == 404
        assert not LabelCheck.objects.exists()

    @pytest.mark.parametrize("role", ["manager", "surgeon", "sterile_services"])
    def test_refuses_the_read_only(self, of, role, client_of, request):
        client = client_of(request.getfixturevalue(role))
        for name in self.NAMES:
            url = reverse(name, args=[of.case.pk])
            assert client.post(url, {"text": "STEM"}).status_code == 403
        assert client.get(reverse("theatre")).status_code == 403

    def test_what_does_not_exist(self, of, theatre_team, client_of):
        client = client_of(theatre_team)
        for name, form in (
            ("theatre_open", {"check": "9"}),
            ("theatre_open", {"check": "x"}),
            ("theatre_record", {"unit": "NONE", "outcome": "implanted"}),
            ("theatre_record", {"unit": "STEM", "outcome": "eaten"}),
        ):
            assert client.post(reverse(name, args=[of.case.pk]), form).status_code == 404


def test_costs_a_fixed_number_of_queries(
    of, team, theatre_team, client_of, django_assert_num_queries
):
    opened(team, "STEM")
    team("in_theatre", text="HEAD")
    client = client_of(theatre_team)
    url = f"{reverse('in_theatre', args=[of.case.pk])}?answer={LabelCheck.objects.latest('pk').pk}"
    with django_assert_num_queries(11):
        client.get(url)
