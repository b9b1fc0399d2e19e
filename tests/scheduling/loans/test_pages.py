"""A loan as its people press it: the desk asks, sterile services check the tray in, boxes scan."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from implants.models import Arrival, Unit
from implants.operations.holds import quarantine
from implants.operations.late_entries import enter_taken
from implants.operations.theatre import record_implanted
from scheduling.models import Loan, LoanTray
from tests import factories
from tests.factories import NOW
from tests.implants.labels import label
from tests.scheduling.web.pages.test_views import words_of
from trays.models import Tray
from trays.stages import Stage


@pytest.fixture
def desk(coordinator, client_of):
    return client_of(coordinator)


@pytest.fixture
def bench(sterile_services, client_of):
    return client_of(sterile_services)


def press(browser, path, **said):
    answer = browser.post(path, said, follow=True)
    assert answer.status_code == 200
    return words_of(answer)


def act(desk, what, **said):
    return press(desk, f"/loans/L-0001/act/{what}/", seq=Loan.objects.get().seq, **said)


def asked_for(desk, lender):
    sheet = lender.sheet.configuration
    return press(
        desk,
        "/loans/begin/",
        supplier=lender.supplier.pk,
        due_back="2027-03-12",
        boxes="STEM-12 2\nSTEM-13",
        **{f"trays {sheet.pk}": "1"},
    )


@pytest.fixture
def arrived(desk, lender):
    asked_for(desk, lender)
    act(desk, "ask")
    act(desk, "promise", day="2027-03-01", time="12:00")
    act(desk, "arrived", delivery_note="DN 7", place="Loan trolley")
    return Loan.objects.get()


def test_asked_for_promised_and_here(desk, lender):
    page = asked_for(desk, lender)
    assert "L-0001: draft" in page
    assert "no date yet: counts for no case" in page
    assert "1 tray and 3 boxes" in page
    assert "L-0001: asked for" in act(desk, "ask")
    assert "12:00 Mon 1 Mar" in act(desk, "promise", day="2027-03-01", time="12:00")
    page = act(desk, "arrived", delivery_note="DN 7", place="Loan trolley")
    assert "L-0001: arrived" in page
    assert "delivery note DN 7" in page
    assert "to be checked in" in page


def test_what_cannot_be_used_is_said_and_changes_nothing(desk, lender):
    said = {"supplier": lender.supplier.pk, "boxes": "STEM-12 2\nNOPE 3"}
    assert "line 2: “NOPE” is not in the catalogue" in press(desk, "/loans/begin/", **said)
    assert "Choose the supplier" in press(desk, "/loans/begin/", boxes="STEM-12")
    assert not Loan.objects.exists()
    asked_for(desk, lender)
    act(desk, "ask")
    assert "“25:00” is not a time of day" in act(desk, "promise", day="2027-03-01", time="25:00")
    assert "is past" in act(desk, "promise", day="2027-02-01", time="12:00")
    stale = press(desk, "/loans/L-0001/act/call-off/", seq="1", reason="x")
    assert "changed by someone else" in stale
    assert Loan.objects.get().state == "asked for"


def test_sterile_services_check_the_tray_in(bench, arrived, lender):
    line = LoanTray.objects.get()
    answer = bench.post("/loans/L-0001/check-in/", {"text": "L-0001/1"})
    assert answer.url == f"/loans/L-0001/trays/{line.pk}/", "its code opens its page"
    page = words_of(bench.get(answer.url))
    assert "Contents, line by line" in page
    reamers = lender.sheet.contents.get(instrument=lender.reamer)
    said = {
        "seq": line.tray.seq,
        "sound": "yes",
        "certificate": "C-1",
        "instructions": "1",
        "weight": "11,5",
        f"missing {reamers.pk}": "1",
    }
    page = press(bench, answer.url, **said)
    assert "It goes to cleaning and through the whole cycle" in page
    assert "11.50 kg, over the limit of 11.34 kg" in page
    assert Tray.objects.get().stage == Stage.CLEANING
    again = press(bench, answer.url, **said)
    assert "was checked in meanwhile" in again
    assert "lacks 1 × reamer" in words_of(bench.get("/loans/L-0001/"))


def test_what_was_typed_of_a_tray_is_not_lost_where_a_word_of_it_is_refused(bench, arrived, lender):
    line = LoanTray.objects.get()
    reamers = lender.sheet.contents.get(instrument=lender.reamer)
    said = {
        "seq": line.tray.seq,
        "sound": "no",
        "note": "a dent",
        "certificate": "C-1",
        "instructions": "1",
        "asset": "TAG 7",
        "weight": "heavy",
        f"missing {reamers.pk}": "1",
    }
    page = bench.post(f"/loans/L-0001/trays/{line.pk}/", said).content.decode()
    assert "kilograms as a number, not “heavy”" in page
    for kept in ("a dent", "C-1", "TAG 7", "heavy", "1"):
        assert f'value="{kept}"' in page
    assert page.count(" checked>") == 2


def test_without_papers_it_goes_to_quarantine(bench, arrived):
    line = LoanTray.objects.get()
    address = f"/loans/L-0001/trays/{line.pk}/"
    assert "Say whether the tray is sound" in press(bench, address, seq=line.tray.seq)
    page = press(bench, address, seq=line.tray.seq, sound="yes")
    assert "no certificate of decontamination, no instructions for reprocessing" in page
    assert Tray.objects.get().stage == Stage.QUARANTINE


def test_boxes_against_the_delivery_note(desk, bench, arrived):
    def scan(text, **more):
        return press(desk, "/loans/L-0001/check-in/", text=text, **more)

    assert "CHECK BOX" in scan(label(serial="1"))
    assert "1 of 3 boxes checked in" in scan(label(serial="2"))
    assert "2 of 3 boxes" in scan("Loan trolley", **{"put away": "1"})
    assert "Not on the delivery note" in scan(label(serial="3"))
    assert Unit.objects.filter(location="Loan trolley", owner="loan").count() == 2
    # Its boxes are the coordinator's.
    page = press(bench, "/loans/L-0001/check-in/", text=label(serial="4"))
    assert "No tray of this loan" in page
    assert "scanned by the implant coordinator" in page


def test_a_damaged_box_goes_to_quarantine_and_back_to_this_page(desk, arrived):
    page = press(desk, "/loans/L-0001/check-in/", text=label(serial="1"))
    assert "Packaging not intact" in page
    arrival = Arrival.objects.get()
    answer = desk.post("/loans/L-0001/check-in/box/", {"arrival": arrival.pk, "said": "packaging"})
    assert answer.url.startswith("/loans/L-0001/check-in/")
    assert Unit.objects.get(serial="1").hold == "packaging not intact"


def test_the_return_note_says_what_was_used_and_of_no_case(desk, bench, arrived, lender):
    line = LoanTray.objects.get()
    press(
        bench,
        f"/loans/L-0001/trays/{line.pk}/",
        seq=line.tray.seq,
        sound="no",
        note="lid bent",
    )
    for serial in "12":
        press(desk, "/loans/L-0001/check-in/", text=label(serial=serial))
    press(desk, "/loans/L-0001/check-in/", text="Loan trolley", **{"put away": "1"})
    record_implanted(unit=Unit.objects.get(serial="1"), case_ref="C-SECRET", **lender.who)
    assert "1 box did not come" in act(desk, "end")
    page = desk.get("/loans/L-0001/paper/").text
    assert page.count("paper__tick") == 2  # the tray and the box
    paper = words_of(desk.get("/loans/L-0001/paper/"))
    assert "2 boxes came: 1 used, 1 going back. 3 were asked for: 1 did not come." in paper
    assert "Goes back Friday 12 March 2027" in paper
    page = act(desk, "return")
    assert "L-0001: gone back" in page
    paper = words_of(desk.get("/loans/L-0001/paper/"))
    assert "Return note L-0001" in paper
    assert "Trays decontaminated here after their last use Date, time" in paper
    assert "Used, to be billed: 1" in paper
    assert "2 boxes came: 1 used, 1 went back." in paper
    assert "Went back Monday 1 March 2027" in paper
    assert "Went back: 1" in paper
    assert "implanted" in paper
    assert "Packed and handed over by; date, time Taken by; date, time" in paper
    assert "paper__tick" not in desk.get("/loans/L-0001/paper/").text
    assert "C-SECRET" not in paper


def test_the_return_note_counts_what_is_on_hold_or_out(desk, lender):
    lender.arrived(twelve=3)
    for serial in "123":
        press(desk, "/loans/L-0001/check-in/", text=label(serial=serial))
    press(desk, "/loans/L-0001/check-in/", text="Loan trolley", **{"put away": "1"})
    act(desk, "end")
    quarantine(unit=Unit.objects.get(serial="1"), reason="wet at C-SECRET", **lender.who)
    enter_taken(unit=Unit.objects.get(serial="2"), case_ref="C-SECRET", who="theatre", **lender.who)
    paper = words_of(desk.get("/loans/L-0001/paper/"))
    assert "3 boxes came: 0 used, 2 going back, 1 taken for an operation: not back yet." in paper
    assert "in quarantine here: look at it first" in paper
    assert "C-SECRET" not in paper


def test_the_request_to_print(desk, lender):
    asked_for(desk, lender)
    paper = words_of(desk.get("/loans/L-0001/paper/"))
    for said in ("Request for a loan L-0001", "Draft: not sent yet", "STEM-13", "Friday 12 March"):
        assert said in paper


def test_the_list_to_check_it_in_by_hand(desk, arrived):
    press(desk, "/loans/L-0001/check-in/", text=label(serial="1"))
    press(desk, "/loans/L-0001/check-in/", text="Loan trolley", **{"put away": "1"})
    assert "Check-in list to print" in words_of(desk.get("/loans/L-0001/"))
    paper = words_of(desk.get("/loans/L-0001/paper/"))
    for said in ("Check-in list L-0001", "Certificate Instructions Contents Sound", "Checked by"):
        assert said in paper
    assert re.search(r"Boxes: \d+, 1 of them checked in", paper)
    assert "Please bill" not in paper


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (5, "Wanted here by 07:00, Thursday 4 March 2027"),  # 48 hours ahead
        (1, "Wanted here by 07:00, Tuesday 2 March 2027"),  # as late as it may come
    ],
)
def test_the_request_says_by_when_and_for_no_case(desk, lender, days, said):
    technique = factories.technique(lender.supplier.site)
    factories.case(
        lender.supplier.site,
        "C-SECRET",
        start=NOW + timedelta(days=days, hours=1),
        technique=technique,
        components={"stem": {"ref": "STEM-13"}},
    )
    asked_for(desk, lender)
    paper = words_of(desk.get("/loans/L-0001/paper/"))
    assert said in paper
    assert "C-SECRET" not in paper


@pytest.mark.parametrize(
    ("path", "queries"), [("/loans/", 50), ("/loans/L-0001/", 50), ("/loans/L-0001/check-in/", 25)]
)
def test_more_boxes_take_no_more_queries(
    desk, lender, path, queries, django_assert_max_num_queries
):
    lender.arrived(twelve=30)
    with django_assert_max_num_queries(queries):
        assert desk.get(path).status_code == 200
