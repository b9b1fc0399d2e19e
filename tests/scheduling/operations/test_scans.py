from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from scheduling.models import CaseStatus, Scan
from scheduling.models.pick_list import ScanAnswer
from scheduling.operations import scans
from scheduling.operations.pick_lists import print_pick_list
from scheduling.operations.reservations import reserve_unit
from scheduling.operations.scans import scan
from scheduling.pick_lists.scan_values import Answer, Word
from tests import factories
from tests.factories import NOW
from tests.scheduling.pick_lists.house import GTIN, House, house
from trays.models import MissingLine

STEM = f"01{GTIN}10LX\x1d211"


@pytest.fixture
def of(site) -> House:
    return house(site)


@pytest.fixture
def version(of, coordinator):
    return print_pick_list(case=of.case, by=coordinator, now=NOW)


@pytest.fixture
def read(version, coordinator):
    def scan_it(text: str) -> Scan:
        return scan(version=version, text=text, by=coordinator, now=NOW)

    return scan_it


def told(made: Scan) -> tuple[str, str]:
    return made.answer, made.reason["code"]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (STEM, "S1"),
        (f"]d201{GTIN}10LX\x1d211", "S1"),
        (f"(01){GTIN}(10)LX(21)1", "S1"),
        (f"HTTP://127.0.0.1:8000/01/{GTIN}/10/LX/21/1", "S1"),
        (f"https://elsewhere.example/01/{GTIN}/10/LX/21/1", "S1"),
        ("HTTP://127.0.0.1:8000/u/H1", "H1"),
        ("H1", "H1"),
        ("HD-36 LH", "H1"),
        ("ref hd-36 lot lh", "H1"),
        ("BASE/1", "BASE/1"),
        ("0299999BASE1", "BASE/1"),
        ("80040299999BASE1", "BASE/1"),
        ("HTTP://127.0.0.1:8000/8004/0299999BASE1", "BASE/1"),
        ("HTTP://127.0.0.1:8000/u/BASE%2F1", "BASE/1"),
    ],
)
def test_a_box_or_tray_of_the_list_is_ticked_however_it_is_read(read, text, what):
    made = read(text)
    assert told(made) == (ScanAnswer.MATCHES_LIST, "matches")
    assert str(made.line.unit or made.line.tray) == what
    assert made.read == text


def test_every_code_of_the_print_ticks_its_own_line(version, read):
    """But for boxes that the label cannot tell apart, which tick one after the other."""
    printed = version.content["sections"][0]
    links = [line["link"] for line in (*printed["trays"], *printed["boxes"])]
    assert [read(link).line.position for link in links] == [1, 2, 3, 4]


def test_the_same_box_again_is_harmless(read):
    first, again = read(STEM), read(STEM)
    assert told(again) == (ScanAnswer.ALREADY_SCANNED, "already scanned")
    assert again.line == first.line
    assert Scan.objects.filter(answer=ScanAnswer.MATCHES_LIST).count() == 1


def test_two_equal_boxes_tick_two_lines(read):
    assert [told(read("HD-36 LH"))[0] for _ in range(3)] == [
        "MATCHES LIST",
        "MATCHES LIST",
        "ALREADY SCANNED",
    ]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("rubbish", "unreadable"),
        ("(01)02000000000016(10)LX", "unreadable"),
        ("HTTP://127.0.0.1:8000/l/K7QM4F/1/", "unreadable"),
        ("HTTP://127.0.0.1:8000/u/NOTHING", "unreadable"),
        ("\x00", "unreadable"),
        ("01020000000000220LX"[:16] + "10LX", "unknown item"),
        (f"01{GTIN}10LY\x1d212", "other lot"),
        (f"01{GTIN}10LX\x1d219", "other serial"),
        (f"01{GTIN}", "lot not read"),
        (f"01{GTIN}17270228" + "10LX\x1d211", "expired"),
        (f"01{GTIN}17280228" + "10LX\x1d211", "other use-by date"),
        ("BASE/2", "other tray"),
        ("80040299999NOBODY", "unknown tray"),
    ],
)
def test_stops_and_ticks_nothing(read, text, code):
    assert told(read(text)) == (ScanAnswer.STOP, code)
    assert not Scan.objects.filter(answer=ScanAnswer.MATCHES_LIST).exists()


def test_a_box_that_was_promised_to_another_case(of, read, coordinator):
    other = factories.case(of.site, "C9")
    reserve_unit(case=other, unit=of.stems[1], by=coordinator, now=NOW)
    made = read(f"01{GTIN}10LY\x1d212")
    assert told(made) == (ScanAnswer.STOP, "promised to another case")
    assert made.reason["asked"] == "LOT LX, SN 1, box S1 for case C1"
    assert made.reason["read"] == "LOT LY, SN 2, box S2, reserved for case C9"


def test_a_recall_after_the_print_stops_the_box(of, read):
    factories.held(of.stems[0], "recalled: lot LX")
    assert told(read(STEM)) == (ScanAnswer.STOP, "on hold")


def test_use_by_today_is_usable_and_yesterday_is_not(of, version, read):
    today = of.site.local(NOW).date()
    of.case.start = NOW + timedelta(hours=2)
    of.case.save()
    for expiry, code in ((today, "matches"), (today - timedelta(days=1), "expired")):
        of.stems[0].expiry = expiry
        of.stems[0].save()
        assert read(STEM).reason["code"] == code


def test_a_missing_instrument_that_the_case_counts_on(of, read):
    MissingLine.objects.create(tray=of.trays[0], instrument=of.reamer)
    made = read("BASE/1")
    assert told(made) == (ScanAnswer.STOP, "lacks an instrument")
    assert made.reason["asked"] == "tray BASE/1 with REAM-12"


def test_a_missing_instrument_that_nobody_needs(of, read, version):
    content = version.content
    content["sections"][0]["counted_on"] = {}
    version.content = content
    version.save()
    MissingLine.objects.create(tray=of.trays[0], instrument=of.reamer)
    assert told(read("BASE/1"))[0] == ScanAnswer.MATCHES_LIST


def test_a_list_that_was_printed_again(of, read, coordinator):
    factories.held(of.stems[0], "dropped")
    newer = print_pick_list(case=of.case, by=coordinator, now=NOW)
    assert told(read("BASE/1")) == (ScanAnswer.STOP, "list replaced")
    made = scan(version=newer, text="BASE/1", by=coordinator, now=NOW)
    assert told(made)[0] == ScanAnswer.MATCHES_LIST


def test_a_case_that_is_over(of, read):
    of.case.status = CaseStatus.CANCELLED
    of.case.save()
    assert told(read(STEM)) == (ScanAnswer.STOP, "case is over")


def test_another_sites_box_is_unknown_here(read, stranger):
    box = factories.unit(factories.implant(stranger.site, "THEIRS"), "T1", lot="L")
    assert told(read("T1")) == (ScanAnswer.STOP, "unreadable")
    assert told(read(f"THEIRS {box.lot}")) == (ScanAnswer.STOP, "unreadable")


class TestTheGuard:
    def test_the_database_refuses_a_second_tick(self, read):
        made = read(STEM)
        with pytest.raises(IntegrityError), transaction.atomic():
            Scan.objects.create(
                version=made.version,
                line=made.line,
                read="x",
                answer=made.answer,
                at=NOW,
                by=made.by,
            )

    def test_a_race_that_is_lost_is_already_scanned(self, read, monkeypatch):
        """Both scanners saw the line open: the second answer meets the constraint."""
        first = read(STEM)
        matches = Answer(Word.MATCHES_LIST, "matches", first.line_id)
        monkeypatch.setattr(scans, "match", lambda *args, **values: matches)
        second = read(STEM)
        assert told(second) == (ScanAnswer.ALREADY_SCANNED, "already scanned")
        assert second.line == first.line


@pytest.mark.parametrize(
    ("text", "queries"), [(STEM, 14), ("BASE/1", 13), ("rubbish", 13), ("HD-36 LH", 16)]
)
def test_costs_a_fixed_number_of_queries(
    version, coordinator, django_assert_num_queries, text, queries
):
    with django_assert_num_queries(queries):
        scan(version=version, text=text, by=coordinator, now=NOW)
