from __future__ import annotations

import pytest
from django.db import connection
from django.urls import reverse

from implants.models import Implant, Unit
from scheduling.operations.picks import fetch_tray
from scheduling.operations.theatre_boxes import record_implanted, record_wasted, return_unopened
from scheduling.operations.theatre_checks import check_label, open_box
from scheduling.operations.theatre_scans import scan_outcome
from scheduling.theatre.outcomes import Outcome
from scheduling.theatre.waste import WasteReason
from scheduling.tracing.case_history import case_history
from scheduling.tracing.trace import trace
from tests import factories
from tests.factories import NOW
from tests.scheduling.theatre.hip import Hip, hip
from trays.models import Load, Machine, Pack


@pytest.fixture
def of(site, theatre_team) -> Hip:
    """STEM implanted, HEAD dropped, SHELL back unopened; a second box of STEM's lot untouched."""
    of = hip(site)
    factories.unit(of.boxes["STEM"].implant, "STEM-2", lot="L-STEM", serial="s2")
    said = {"by": theatre_team, "now": NOW}
    for code in ("BASE/1", "STEM", "HEAD", "SHELL"):
        made = check_label(case=of.case, text=code, **said)
        if code in ("STEM", "HEAD"):
            open_box(check=made, **said)
    said["case"] = of.case
    record_implanted(unit=of.boxes["STEM"], **said)
    record_wasted(unit=of.boxes["HEAD"], why=WasteReason.DROPPED, **said)
    return_unopened(unit=of.boxes["SHELL"], **said)
    return of


def told(found) -> dict[str, list[tuple[str, str]]]:
    return {each.ref: [(event.what, event.of) for event in each.events] for each in found.cases}


class TestFromTheLot:
    def test_to_the_case_and_to_the_boxes_that_no_case_has_touched(self, of):
        found = trace(of.site, "L-STEM")
        assert told(found) == {"C1": [("pick", "box STEM"), ("implant", "box STEM")]}
        assert found.cases[0].case == of.case
        assert [unit.code for unit in found.unused] == ["STEM-2"]

    @pytest.mark.parametrize("text", ["l-stem", " L-STEM ", "\0L-STEM"])
    def test_as_people_type_it(self, of, text):
        assert told(trace(of.site, text)).keys() == {"C1"}

    def test_by_serial_code_and_label(self, of):
        Implant.objects.filter(ref="ST-12").update(gtin="02000000000015")
        assert [unit.code for unit in trace(of.site, "s2").unused] == ["STEM-2"]
        assert told(trace(of.site, "STEM")).keys() == {"C1"}
        found = trace(of.site, "]d2010200000000001510L-STEM")
        assert [unit.code for unit in found.boxes] == ["STEM", "STEM-2"]

    def test_a_box_that_went_back_is_traced_to_the_case_that_had_it(self, of):
        assert told(trace(of.site, "L-SHELL")) == {"C1": [("pick", "box SHELL")]}

    @pytest.mark.parametrize("text", ["NO-SUCH-LOT", "", "  ", "rubbish\0"])
    def test_nothing(self, of, text):
        assert trace(of.site, text).is_empty

    def test_another_sites_box_is_unknown_here(self, of, stranger):
        assert trace(stranger.site, "L-STEM").is_empty


class TestFromTheTray:
    def test_to_its_cases(self, of):
        found = trace(of.site, "base/1")
        assert found.trays == ("BASE/1",)
        assert told(found) == {"C1": [("issued", "tray BASE/1"), ("in theatre", "tray BASE/1")]}

    def test_from_a_steriliser_load_to_the_cases_of_its_packs_alone(self, of, sterile_services):
        """The tray was in theatre with the pack before: that case is not of this load."""
        machine = Machine.objects.create(
            site=of.site, code="S1", kind="steriliser", places=4, cycle_minutes=60
        )
        load = Load.objects.create(machine=machine, number=12, opened_at=NOW)
        other = factories.tray(of.tray.version, "BASE/2")
        Pack.objects.create(tray=other, number=1, first_seq=1, packed_at=NOW, load=load)
        Pack.objects.create(tray=of.tray, number=1, first_seq=4, packed_at=NOW, load=load)
        late = factories.case(of.site, "C2")
        fetch_tray(case=late, tray=other, by=sterile_services, now=NOW)
        found = trace(of.site, "s1-12")
        assert found.trays == ("BASE/1", "BASE/2")
        assert told(found) == {"C2": [("issued", "tray BASE/2")]}


class TestFromTheCase:
    def test_everything_and_who(self, of):
        found = [(event.what, event.of, event.by) for event in case_history(of.case)]
        code = of.printed.pick_list.code
        for one in (
            ("list printed", f"list {code}, version 1", "a file"),
            ("label read in theatre: MATCHES LIST", "box STEM", "Theatre"),
            ("pick", "box STEM", "Theatre"),
            ("opened", "box STEM", "Theatre"),
            ("implant", "box STEM", "Theatre"),
            ("waste", "box HEAD", "Theatre"),
            ("put back", "box SHELL", "Theatre"),
            ("issued", "tray BASE/1", "Theatre"),
            ("in theatre", "tray BASE/1", "Theatre"),
        ):
            assert one in found

    def test_the_reason_is_said(self, of):
        (waste,) = [event for event in case_history(of.case) if event.what == "waste"]
        assert waste.reason == "dropped"

    def test_of_one_moment_what_led_to_the_other_comes_first(self, site, theatre_team):
        house = hip(site)
        said = {"case": house.case, "by": theatre_team, "now": NOW}
        scan_outcome(text="STEM", outcome=Outcome.IMPLANTED, **said)
        events = [event.what for event in case_history(house.case) if event.of == "box STEM"]
        assert events == [
            "label read in theatre: MATCHES LIST",
            "label read in theatre: MATCHES LIST",
            "pick",
            "opened",
            "implant",
        ]

    def test_costs_a_fixed_number_of_queries(self, of, django_assert_num_queries):
        with django_assert_num_queries(11):
            case_history(of.case)


class TestPages:
    def test_a_lot(self, of, manager, client_of):
        page = client_of(manager).get(reverse("trace"), {"text": "L-STEM"}).content.decode()
        assert reverse("case_history", args=[of.case.pk]) in page
        assert "STEM-2" in page

    def test_a_case_leads_to_its_history(self, of, manager, client_of):
        answer = client_of(manager).get(reverse("trace"), {"text": "c1"})
        assert answer.url == reverse("case_history", args=[of.case.pk])
        assert "box STEM" in client_of(manager).get(answer.url).content.decode()

    def test_nothing(self, of, manager, client_of):
        page = client_of(manager).get(reverse("trace"), {"text": "<b>"}).content.decode()
        assert "Nothing of this site has that LOT" in page

    def test_refuses_the_stranger(self, of, stranger, client_of):
        client = client_of(stranger)
        assert client.get(reverse("case_history", args=[of.case.pk])).status_code == 404
        page = client.get(reverse("trace"), {"text": "L-STEM"}).content.decode()
        assert "Nothing of this site" in page

    def test_refuses_the_surgeon_of_other_cases(self, of, surgeon, client_of):
        client = client_of(surgeon)
        assert client.get(reverse("trace")).status_code == 403
        assert client.get(reverse("case_history", args=[of.case.pk])).status_code == 404


@pytest.mark.parametrize(("text", "queries"), [("L-STEM", 8), ("BASE/1", 8), ("NOTHING", 9)])
def test_costs_a_fixed_number_of_queries(of, django_assert_num_queries, text, queries):
    with django_assert_num_queries(queries):
        trace(of.site, text)


@pytest.mark.parametrize("key", ["lot", "serial", "case_ref"])
def test_a_box_is_found_by_an_index(of, key):
    """A lot of a hundred thousand boxes is not gone through one by one."""
    plan = Unit.objects.filter(**{"site": of.site, key: "L-STEM"}).order_by().explain()
    wanted = {"sqlite": "USING INDEX", "postgresql": ""}[connection.vendor]
    assert wanted in plan
    names = [index.name for index in Unit._meta.indexes]
    assert f"implants_unit_by_{key}" in names
