from __future__ import annotations

import pypdfium2
import pytest
from django.urls import reverse

from scheduling.models import CaseStatus, PickListVersion, UnitReservation
from scheduling.operations.pick_lists import print_pick_list
from scheduling.operations.reservations import reserve_unit
from tests import factories
from tests.factories import NOW
from tests.scheduling.pick_lists.house import TOMORROW, House, house


@pytest.fixture
def of(site) -> House:
    return house(site)


@pytest.fixture
def version(of, coordinator) -> PickListVersion:
    return print_pick_list(case=of.case, by=coordinator, now=NOW)


def case_url(of: House) -> str:
    return reverse("pick_list_for_case", args=[of.case.pk])


def day_url(of: House) -> str:
    return reverse("pick_list_for_day", args=[of.theatre.pk, TOMORROW])


def of_version(name: str, version: PickListVersion) -> str:
    return reverse(name, args=[version.pick_list.code, version.number])


class TestPreview:
    def test_shows_what_would_be_printed_and_records_nothing(self, of, coordinator, client_of):
        page = client_of(coordinator).get(case_url(of)).content.decode()
        for said in ("Case C1", "size 12, HIGH offset, 225 mm", "LOT LX", "Shelf A-2", "as of"):
            assert said in page
        assert "Print and reserve" in page
        assert not PickListVersion.objects.exists()

    def test_says_what_changed_since_the_last_printing(self, of, version, coordinator, client_of):
        factories.held(of.stems[0], "dropped")
        page = client_of(coordinator).get(case_url(of)).content.decode()
        assert "Since then it has changed" in page
        assert "LOT LX, SN 1, box S1 replaced by LOT LY, SN 2, box S2" in page

    def test_those_who_may_not_reserve_are_not_offered_it(self, of, theatre_team, client_of):
        assert "Print and reserve" not in client_of(theatre_team).get(case_url(of)).content.decode()

    def test_a_day(self, of, coordinator, client_of):
        page = client_of(coordinator).get(day_url(of)).content.decode()
        assert "Theatre 2, Tue 2 March 2027" in page

    def test_a_case_that_is_over_leads_back_and_says_so(self, of, coordinator, client_of):
        of.case.status = CaseStatus.ENDED
        of.case.save()
        answer = client_of(coordinator).get(case_url(of), follow=True)
        assert answer.redirect_chain == [(reverse("case", args=[of.case.pk]), 302)]
        assert "Case C1 is ended" in answer.content.decode()

    def test_costs_a_fixed_number_of_queries(
        self, of, coordinator, client_of, django_assert_num_queries
    ):
        client = client_of(coordinator)
        with django_assert_num_queries(QUERIES["preview"]):
            client.get(case_url(of))


class TestPrint:
    def test_prints_and_shows_the_version(self, of, coordinator, client_of):
        answer = client_of(coordinator).post(case_url(of), {"act": "print", "paper": "letter"})
        version = PickListVersion.objects.get()
        assert answer.url == f"{of_version('pick_list_print', version)}?paper=letter"
        assert not UnitReservation.objects.exists()

    def test_prints_and_reserves(self, of, coordinator, client_of):
        client_of(coordinator).post(case_url(of), {"act": "reserve"})
        assert PickListVersion.objects.get().reserved
        assert UnitReservation.objects.count() == 3

    def test_a_conflict_is_said_on_the_page(self, of, coordinator, client_of):
        """C9 holds a box that it does not need: free for the cover check, and yet reserved."""
        other = factories.case(of.site, "C9")
        reserve_unit(case=other, unit=of.stems[0], by=coordinator, now=NOW)
        answer = client_of(coordinator).post(case_url(of), {"act": "reserve"}, follow=True)
        assert answer.redirect_chain == [(case_url(of), 302)]
        said = "Nothing was printed or reserved. Box S1 is reserved for case C9."
        assert said in answer.content.decode()
        assert not PickListVersion.objects.exists()

    @pytest.mark.parametrize("role", ["theatre_team", "sterile_services"])
    def test_others_print_without_reserving(self, of, role, client_of, request):
        client = client_of(request.getfixturevalue(role))
        assert client.post(case_url(of), {"act": "reserve"}).status_code == 403
        assert not PickListVersion.objects.exists()
        assert client.post(case_url(of), {"act": "print"}).status_code == 302
        assert PickListVersion.objects.count() == 1

    def test_a_surgeon_prints_own_cases_only(self, of, surgeon, other_surgeon, client_of):
        of.case.surgeon = surgeon.user.surgeon
        of.case.save()
        assert client_of(surgeon).get(case_url(of)).status_code == 200
        assert client_of(surgeon).post(case_url(of), {"act": "print"}).status_code == 302
        assert client_of(other_surgeon).get(case_url(of)).status_code == 404
        assert client_of(other_surgeon).post(case_url(of)).status_code == 404
        assert client_of(surgeon).get(day_url(of)).status_code == 404

    def test_refuses_the_stranger(self, of, stranger, client_of):
        for url in (case_url(of), day_url(of)):
            assert client_of(stranger).get(url).status_code == 404
            assert client_of(stranger).post(url, {"act": "print"}).status_code == 404
        assert not PickListVersion.objects.exists()

    def test_refuses_the_read_only(self, of, manager, client_of):
        assert client_of(manager).get(case_url(of)).status_code == 403
        assert client_of(manager).post(case_url(of), {"act": "print"}).status_code == 403

    def test_nobody_in_particular_goes_to_the_log_in_page(self, of, client):
        assert client.get(case_url(of)).url.startswith("/log-in/")


class TestVersion:
    def test_the_newest(self, version, coordinator, client_of):
        page = client_of(coordinator).get(of_version("pick_list_version", version)).content.decode()
        assert "Version 1 is the newest" in page
        assert "the list would be the same as version 1" in page
        assert reverse("scan_list", args=[version.pick_list.code]) in page

    def test_a_replaced_one_says_what_changed(self, of, version, coordinator, client_of):
        factories.held(of.stems[0], "dropped")
        print_pick_list(case=of.case, by=coordinator, now=NOW)
        page = client_of(coordinator).get(of_version("pick_list_version", version)).content.decode()
        assert "Version 1 was replaced" in page
        assert "LOT LX, SN 1, box S1 replaced by LOT LY, SN 2, box S2" in page
        assert "Do not fetch by version 1" in page

    def test_says_when_the_house_has_changed_since(self, of, version, coordinator, client_of):
        factories.held(of.stems[0], "dropped")
        page = client_of(coordinator).get(of_version("pick_list_version", version)).content.decode()
        assert "Since version 1 was printed the house has changed" in page

    def test_a_list_whose_case_is_over(self, of, version, coordinator, client_of):
        of.case.status = CaseStatus.CANCELLED
        of.case.save()
        page = client_of(coordinator).get(of_version("pick_list_version", version)).content.decode()
        assert "This list is over" in page

    def test_a_lower_case_code_opens_it_too(self, version, coordinator, client_of):
        url = reverse("pick_list_version", args=[version.pick_list.code.lower(), 1])
        assert client_of(coordinator).get(url).status_code == 200

    def test_a_number_that_was_never_printed(self, version, coordinator, client_of):
        url = reverse("pick_list_version", args=[version.pick_list.code, 2])
        assert client_of(coordinator).get(url).status_code == 404

    @pytest.mark.parametrize("name", ["pick_list_version", "pick_list_print", "pick_list_pdf"])
    def test_who_reads_it(
        self, version, name, client_of, manager, stranger, surgeon, theatre_team, of
    ):
        url = of_version(name, version)
        assert client_of(theatre_team).get(url).status_code == 200
        assert client_of(manager).get(url).status_code == 200  # may read every case
        assert client_of(stranger).get(url).status_code == 404
        assert client_of(surgeon).get(url).status_code == 404
        of.case.surgeon = surgeon.user.surgeon
        of.case.save()
        assert client_of(surgeon).get(url).status_code == 200

    def test_a_days_list_is_not_for_a_surgeon(self, of, coordinator, surgeon, client_of):
        version = print_pick_list(theatre=of.theatre, day=TOMORROW, by=coordinator, now=NOW)
        url = of_version("pick_list_version", version)
        assert client_of(coordinator).get(url).status_code == 200
        assert client_of(surgeon).get(url).status_code == 404

    @pytest.mark.parametrize("name", ["pick_list_version", "pick_list_print", "pick_list_pdf"])
    def test_costs_a_fixed_number_of_queries(
        self, version, name, coordinator, client_of, django_assert_num_queries
    ):
        client = client_of(coordinator)
        with django_assert_num_queries(QUERIES[name]):
            client.get(of_version(name, version))


class TestPaper:
    def test_the_pdf_is_the_version_as_printed(self, of, version, coordinator, client_of):
        factories.held(of.stems[0], "dropped")
        answer = client_of(coordinator).get(of_version("pick_list_pdf", version))
        assert answer["Content-Type"] == "application/pdf"
        document = pypdfium2.PdfDocument(answer.content)
        text = document[0].get_textpage().get_text_range()
        assert "LOT LX" in text
        assert "LOT LY" not in text
        assert [round(side) for side in document[0].get_size()] == [595, 842]

    def test_us_letter(self, version, coordinator, client_of):
        client = client_of(coordinator)
        answer = client.get(f"{of_version('pick_list_pdf', version)}?paper=letter")
        assert pypdfium2.PdfDocument(answer.content)[0].get_size() == (612, 792)
        page = client.get(f"{of_version('pick_list_print', version)}?paper=letter").content.decode()
        assert "sheet--letter" in page

    def test_the_page_has_what_the_pdf_has(self, version, coordinator, client_of):
        page = client_of(coordinator).get(of_version("pick_list_print", version)).content.decode()
        for said in (
            "Case C1",
            "LEFT side",
            "Needed by 07:30",
            "Covered",
            "Version 1",
            f"Pick list {version.pick_list.code}",
            "Printed 07:00, Monday 1 March 2027",
            "Before use scan this code: it says whether a newer version exists.",
            "size 12, HIGH offset, 225 mm",
            "31 Dec 2031",
            "LOT LX · SN 1 · box S1".replace(" · ", "  ·  "),
            "PLANNED",
            "SPARE",
            "Logistics aid",
        ):
            assert said in page
        assert page.count('class="qr"') == 1 + version.lines.count()

    def test_an_old_version_says_so_on_the_screen(self, of, version, coordinator, client_of):
        factories.held(of.stems[0], "dropped")
        print_pick_list(case=of.case, by=coordinator, now=NOW)
        page = client_of(coordinator).get(of_version("pick_list_print", version)).content.decode()
        assert "This version was replaced by" in page

    def test_nothing_inline_for_the_browser_to_refuse(self, version, coordinator, client_of):
        page = client_of(coordinator).get(of_version("pick_list_print", version)).content.decode()
        assert " style=" not in page
        assert "<style" not in page
        assert "<script>" not in page


QUERIES = {
    "preview": 26,
    "pick_list_version": 27,
    "pick_list_print": 4,
    "pick_list_pdf": 3,
}
"""With the session and the account, its person and permissions with it: 2 a page."""
