from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.management import call_command

from deploy.kit.models import OutboxMessage, Site
from implants.models import Unit
from implants.operations.holds import quarantine
from scheduling.confirming import Basis, basis_of
from scheduling.errors import NotUsable, Refused
from scheduling.models import Case, CaseDecision, CaseStatus, Lapse, Notice
from scheduling.operations.alerts import watch
from scheduling.operations.cases import move_case
from scheduling.operations.decisions import confirm_case, lapses_now, postpone_case
from scheduling.operations.notices import hand_back, mark_seen, take_on
from scheduling.operations.plans import write_plan
from scheduling.queries import coverage_now
from tests import factories
from tests.factories import NOW


@pytest.fixture
def case(site: Site, surgeon) -> Case:
    """Planned with a stem of which there is one box and no spare."""
    factories.unit(factories.implant(site, "STEM-12", size=12))
    technique = factories.technique(site)
    technique.rules.create(role="stem", need="spare", select={"size": 12})
    return factories.case(
        site,
        technique=technique,
        components={"stem": {"size": 12}},
        surgeon=surgeon.user.surgeon,
    )


def seen(case: Case) -> Basis:
    coverage = coverage_now(case.site)
    return basis_of(coverage.scenario, coverage.report, case.ref, 1)


@pytest.fixture
def confirmed(case: Case, surgeon) -> CaseDecision:
    saw = seen(case)
    reasons = dict.fromkeys(saw.gaps, "one is enough")
    return confirm_case(case=case, saw=saw, reasons=reasons, by=surgeon, now=NOW)


def told() -> list[tuple[str, str]]:
    return [(one.to.username, one.text) for one in Notice.objects.order_by("to__username")]


def test_records_plan_verdict_and_each_gap_with_its_reason(confirmed, surgeon):
    confirmed.refresh_from_db()
    assert (confirmed.decision, confirmed.plan.number) == ("confirmed", 1)
    assert confirmed.verdict == "covered, no spare"
    assert [reason for _, reason in confirmed.accepted] == ["one is enough"]
    assert (confirmed.by, confirmed.at) == (surgeon.user, NOW)


def test_a_gap_without_a_reason_is_not_accepted(case, surgeon):
    with pytest.raises(NotUsable, match="no reason for “Spare, missing"):
        confirm_case(case=case, saw=seen(case), reasons={}, by=surgeon, now=NOW)
    assert not CaseDecision.objects.exists()


def test_nobody_confirms_what_is_no_longer_so(case, surgeon):
    saw = seen(case)
    with pytest.raises(Refused, match="changed while you were looking"):
        confirm_case(
            case=case, saw=replace(saw, verdict="covered", gaps=()), reasons={}, by=surgeon, now=NOW
        )


def test_a_case_that_is_over_or_without_a_plan_is_not_confirmed(site, case, surgeon):
    bare = factories.case(site, "BARE")
    with pytest.raises(Refused, match="has no plan yet"):
        confirm_case(case=bare, saw=seen(case), reasons={}, by=surgeon, now=NOW)
    Case.objects.filter(pk=case.pk).update(status=CaseStatus.ENDED)
    with pytest.raises(Refused, match="nothing can be changed"):
        confirm_case(case=case, saw=replace(seen_over(), plan=1), reasons={}, by=surgeon, now=NOW)


def seen_over() -> Basis:
    return Basis(0, "", 0, "", "", "covered", ())


def test_postponing_takes_a_reason_and_tells_who_is_on_it(case, surgeon, coordinator):
    take_on(case=case, by=coordinator, now=NOW)
    with pytest.raises(NotUsable, match="a reason"):
        postpone_case(case=case, saw=seen(case), reason=" ", by=surgeon, now=NOW)
    made = postpone_case(case=case, saw=seen(case), reason="wait for the loan", by=surgeon, now=NOW)
    assert (made.decision, made.reason) == ("postponed", "wait for the loan")
    assert told() == [("coordinator", "C1 is postponed by the surgeon: wait for the loan")]


def test_a_confirmation_stands_while_nothing_changes(confirmed, site):
    assert lapses_now(site=site) == ()


def test_lapses_once_says_what_and_tells_the_surgeon_and_who_is_on_it(
    confirmed, case, site, surgeon, coordinator
):
    surgeon.user.email = "surgeon@ottermere.example"
    surgeon.user.save()
    take_on(case=case, by=coordinator, now=NOW)
    move_case(case=case, start=case.start + timedelta(hours=2), by=coordinator, now=NOW)
    (lapse,) = lapses_now(site=site)
    assert lapse.because == ["It starts 10:30 on Tue 2 Mar 2027; it was 08:30 on Tue 2 Mar 2027."]
    text = f"The confirmation of C1 lapsed. {lapse.because[0]}"
    assert told() == [("coordinator", text), ("surgeon", text)]
    assert OutboxMessage.objects.get().to == "surgeon@ottermere.example"
    assert lapses_now(site=site) == ()
    assert Lapse.objects.count() == 1


def test_whoever_made_the_change_is_not_told_of_it_and_the_others_are(
    confirmed, case, site, surgeon, coordinator
):
    take_on(case=case, by=coordinator, now=NOW)
    write_plan(
        case=case,
        technique=confirmed.plan.technique,
        components={"stem": {"size": 13}},
        facts={},
        by=surgeon,
        now=NOW,
    )
    assert lapses_now(site=site, changed=case, by=surgeon)
    assert [who for who, _ in told()] == ["coordinator"]


def test_who_changed_another_case_is_told_what_it_did_to_theirs(confirmed, case, site, surgeon):
    other = factories.case(site, "C2", surgeon=surgeon.user.surgeon)
    move_case(case=case, start=case.start + timedelta(hours=2), by=surgeon, now=NOW)
    assert lapses_now(site=site, changed=other, by=surgeon)
    assert [who for who, _ in told()] == ["surgeon"]


def test_a_box_that_goes_on_hold_lapses_it_by_the_clock(confirmed, case, site, capsys):
    factories.held(Unit.objects.get(), "recalled")
    call_command("watch_cover")
    said = capsys.readouterr().out
    assert "C1: confirmation lapsed: The verdict is not covered; it was covered, no spare." in said


def test_nothing_confirmed_costs_one_query(case, site, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert lapses_now(site=site) == ()


def test_being_on_it_is_once_and_ends(case, coordinator, theatre_team):
    assert take_on(case=case, by=coordinator, now=NOW) == take_on(
        case=case, by=coordinator, now=NOW
    )
    hand_back(case=case, by=coordinator, now=NOW)
    with pytest.raises(Refused, match="not on case C1"):
        hand_back(case=case, by=theatre_team, now=NOW)


def test_only_the_own_notices_are_taken_off(case, surgeon, coordinator):
    own = Notice.objects.create(to=surgeon.user, case=case, text="x", at=NOW)
    other = Notice.objects.create(to=coordinator.user, case=case, text="x", at=NOW)
    assert mark_seen(notices=[own.pk, other.pk], by=surgeon, now=NOW) == 1
    other.refresh_from_db()
    assert other.seen_at is None


class TestOneThingIsSaidOnce:
    """The confirmation lapses since cover is lost; an alert says that cover is lost."""

    @pytest.fixture
    def lost(self, site, confirmed, surgeon, coordinator):
        surgeon.user.email = "surgeon@ottermere.example"
        surgeon.user.save()
        watch(site=site, now=site.now())

        def lose() -> None:
            unit = Unit.objects.get()
            quarantine(unit=unit, reason="wet", by=coordinator, now=NOW)

        return lose

    def mails(self) -> list[str]:
        return [mail.kind for mail in OutboxMessage.objects.order_by("pk")]

    def test_the_lapse_first_then_the_alert_takes_it_over(self, site, lost, surgeon):
        lost()
        assert lapses_now(site=site)
        assert [who for who, _ in told()] == ["surgeon"]
        (alert,) = watch(site=site, now=site.now()).opened
        assert alert.said.endswith("Its confirmation lapsed.")
        assert not Notice.objects.filter(seen_at=None).exists()
        assert self.mails() == ["case notice"]

    def test_the_alert_first_then_the_lapse_is_recorded_and_not_told_again(self, site, lost):
        lost()
        assert watch(site=site, now=site.now()).opened
        assert lapses_now(site=site)
        assert told() == []
        assert self.mails() == ["alert"]

    def test_who_is_on_it_and_sees_no_alert_is_told(self, site, case, lost, theatre_team):
        take_on(case=case, by=theatre_team, now=NOW)
        lost()
        watch(site=site, now=site.now())
        lapses_now(site=site)
        assert [who for who, _ in told()] == ["theatre"]

    def test_a_lapse_that_says_more_is_told_beside_the_alert(self, site, case, lost, coordinator):
        lost()
        watch(site=site, now=site.now())
        move_case(case=case, start=case.start + timedelta(hours=1), by=coordinator, now=NOW)
        lapses_now(site=site)
        assert [who for who, _ in told()] == ["surgeon"]
