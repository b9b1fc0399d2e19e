"""What is read from the ledger: what came of each box last, in the site's own days."""

from __future__ import annotations

import io
from datetime import date, timedelta
from decimal import Decimal

import openpyxl
import pytest
from django.urls import reverse

from implants.models import Implant, ShelfSettings, Unit
from implants.operations.replacements import settle_without_order
from implants.operations.theatre import correct_record
from scheduling.models import CaseStatus, Used
from scheduling.operations.cases import end_case
from scheduling.operations.outside_boxes import Label, record_outside_box
from scheduling.operations.theatre_boxes import record_implanted, record_wasted
from scheduling.operations.theatre_checks import check_label, open_box
from scheduling.theatre.in_theatre import not_accounted_for
from scheduling.theatre.waste import WasteReason
from scheduling.used.reading import uses_between
from tests.factories import NOW
from tests.scheduling.theatre.hip import Hip, hip

TODAY = date(2027, 3, 1)


@pytest.fixture
def of(site, surgeon, theatre_team, coordinator) -> Hip:
    """Stem implanted, head dropped, a screw that was never received; the shell opened only."""
    house = hip(site)
    house.case.surgeon = surgeon.user.surgeon
    house.case.save()
    by = {"by": theatre_team, "now": NOW}
    for code in ("STEM", "HEAD", "SHELL"):
        open_box(check=check_label(case=house.case, text=code, **by), **by)
    record_implanted(case=house.case, unit=house.boxes["STEM"], **by)
    said = {"why": WasteReason.DROPPED, "note": "onto the floor"}
    record_wasted(case=house.case, unit=house.boxes["HEAD"], **said, **by)
    screw = Label("screw", "screw, 30 mm", "Maker North", "SCR-30", lot="L7")
    said = {"outcome": Used.IMPLANTED, "reason": "none left", "second": coordinator}
    record_outside_box(case=house.case, label=screw, **said, **by)
    return house


def test_each_box_with_what_came_of_it(of):
    said = {use.ref: use for use in uses_between(of.site, TODAY, TODAY)}
    assert set(said) == {"ST-12", "HD-36", "SCR-30"}
    head = said["HD-36"]
    assert (head.wasted, head.why, head.note) == (True, "dropped", "onto the floor")
    assert (head.case, head.surgeon, head.settled) == ("C1", "Surgeon One", "")
    stem, screw = said["ST-12"], said["SCR-30"]
    assert (stem.wasted, stem.code, stem.owner) == (False, "STEM", "owned")
    assert (screw.received, screw.line, screw.price) == (False, "screw", None)


def test_days_are_the_site_s_and_both_included(of):
    assert uses_between(of.site, TODAY - timedelta(days=9), TODAY - timedelta(days=1)) == []
    assert uses_between(of.site, TODAY + timedelta(days=1), TODAY + timedelta(days=9)) == []


def test_what_was_corrected_does_not_count(of, coordinator, theatre_team):
    said = {"reason": "it was another", "by": coordinator, "second": theatre_team, "now": NOW}
    correct_record(unit=of.boxes["STEM"], **said)
    assert {use.ref for use in uses_between(of.site, TODAY, TODAY)} == {"HD-36", "SCR-30"}


def test_what_followed_is_said(of, coordinator):
    unit = Unit.objects.get(code="HEAD")
    settle_without_order(unit=unit, note="not to be replaced", by=coordinator, now=NOW)
    settled = {use.ref: use.settled for use in uses_between(of.site, TODAY, TODAY)}
    assert settled["HD-36"] == "not to be replaced"


def test_what_the_supplier_replaces_by_itself_is_not_open(of):
    Implant.objects.filter(ref="HD-36").update(replaced_on_use=True)
    settled = {use.ref: use.settled for use in uses_between(of.site, TODAY, TODAY)}
    assert settled == {"ST-12": "", "HD-36": "the supplier sends another", "SCR-30": ""}


def test_another_site_sees_none_of_it(of, stranger, client_of):
    assert "Nothing was used up in this time." in client_of(stranger).get(reverse("used")).text


def test_the_page_and_the_workbook(of, manager, client_of, django_assert_num_queries):
    client = client_of(manager)
    Implant.objects.filter(ref="HD-36").update(price=Decimal("310.00"))
    ShelfSettings.objects.create(site=of.site, currency="GBP")
    with django_assert_num_queries(8):
        page = client.get(reverse("used")).content.decode()
    assert "<strong>3</strong> boxes used up · <strong>2</strong> implanted" in page
    assert "<dt>Implanted</dt><dd>no price</dd>" in page
    assert "<dt>Wasted</dt><dd>GBP\N{NO-BREAK SPACE}310.00</dd>" in page
    assert "March 2027" in page
    for asked in ("?surgeon=Nobody", "?from=2020-01-01&to=2020-12-31"):
        assert "Nothing was used up" in client.get(reverse("used") + asked).text
    for nonsense in ("?from=2027-13-45", "?from=2027-03-02&to=2027-03-01", "?to=0001-01-01"):
        assert "boxes used up" in client.get(reverse("used") + nonsense).text
    file = client.get(reverse("used_workbook")).content
    book = openpyxl.load_workbook(io.BytesIO(file))
    rows = list(book["Boxes"].iter_rows(values_only=True))
    assert [(row[8], row[15], row[16]) for row in rows[1:]] == [
        ("ST-12", None, None),
        ("HD-36", 310, "GBP"),
        ("SCR-30", None, None),
    ]
    counts = list(book["Counts"].iter_rows(values_only=True))
    assert ("reason", "dropped", 0, None, 0, 1, 310, 0, "GBP") in counts
    assert ("surgeon", "Surgeon One", 2, None, 2, 1, 310, 0, "GBP") in counts


def test_what_nobody_said_anything_of_is_asked_for_when_the_case_is_over(
    of, theatre_team, client_of, django_assert_num_queries
):
    assert not_accounted_for(of.site) == []
    end_case(case=of.case, by=theatre_team, now=NOW)
    of.case.refresh_from_db()
    assert of.case.status == CaseStatus.ENDED
    with django_assert_num_queries(3):
        assert not_accounted_for(of.site) == [(of.case, 1)]
    page = client_of(theatre_team).get(reverse("theatre")).content.decode()
    assert "Over, and not accounted for" in page
    said = {"why": WasteReason.NOT_USED, "by": theatre_team, "now": NOW}
    record_wasted(case=of.case, unit=of.boxes["SHELL"], **said)
    assert not_accounted_for(of.site) == []
