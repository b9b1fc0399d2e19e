from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from implants.models import Unit
from implants.operations.theatre import put_back
from implants.states import UnitState
from scheduling.models import CaseStatus, PickLine, Scan
from scheduling.models.pick_list import ScanAnswer
from scheduling.operations import scans
from scheduling.operations.pick_lists import print_pick_list
from scheduling.operations.reservations import reserve_unit
from scheduling.operations.scans import scan
from scheduling.pick_lists.scan_values import Answer, Word
from tests import factories
from tests.factories import NOW
from tests.scheduling.pick_lists.house import GTIN, TOMORROW, House, house
from trays.models import MissingLine
from trays.operations.moves import move_tray
from trays.stages import Stage

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
        Unit.objects.filter(code="S1").update(expiry=expiry)
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


class TestTheLedgerMoves:
    def test_a_box_that_matches_is_picked_for_the_lines_case(self, of, read, coordinator):
        read(STEM)
        box = of.stems[0]
        box.refresh_from_db()
        assert (box.state, box.case_ref) == (UnitState.PICKED, "C1")
        entry = box.movements.get(seq=box.seq)
        assert (entry.move.kind, entry.by, entry.at) == ("pick", coordinator.user, NOW)

    def test_a_tray_that_matches_is_issued_to_the_lines_case(self, of, read):
        before = of.trays[0].ready_at
        read("BASE/1")
        tray = of.trays[0]
        tray.refresh_from_db()
        assert (tray.stage, tray.case_ref, tray.ready_at) == (Stage.ISSUED, "C1", before)

    def test_a_second_scan_moves_nothing(self, of, read):
        read(STEM), read("BASE/1")
        read(STEM), read("BASE/1")
        for item in (of.stems[0], of.trays[0]):
            item.refresh_from_db()
            assert item.seq == 2

    def test_a_stop_moves_nothing(self, of, read):
        read(f"01{GTIN}10LY\x1d212")
        of.stems[1].refresh_from_db()
        assert of.stems[1].state == UnitState.ON_THE_SHELF

    def test_a_list_that_is_printed_again_finds_its_boxes_picked(self, of, read, coordinator):
        read(STEM), read("BASE/1")
        factories.held(of.heads[1], "dropped")
        newer = print_pick_list(case=of.case, by=coordinator, now=NOW)
        for text in (STEM, "BASE/1"):
            made = scan(version=newer, text=text, by=coordinator, now=NOW)
            assert told(made) == (ScanAnswer.MATCHES_LIST, "matches")
        of.stems[0].refresh_from_db()
        assert of.stems[0].seq == 2

    def test_each_line_of_a_days_list_binds_its_own_case(self, of, coordinator):
        plan = {"head": {"ref": "HD-36"}}
        factories.case(of.site, "C2", technique=of.technique, components=plan, theatre=of.theatre)
        factories.unit(of.head, "H3", lot="L3")
        factories.unit(of.head, "H4", lot="L4")
        day = print_pick_list(theatre=of.theatre, day=TOMORROW, by=coordinator, now=NOW)
        for line in day.lines.exclude(unit=None).select_related("unit"):
            scan(version=day, text=line.unit.code, by=coordinator, now=NOW)
        picked = dict(Unit.objects.filter(state="picked").values_list("code", "case_ref"))
        asked = dict(day.lines.exclude(unit=None).values_list("unit__code", "case__ref"))
        assert picked == asked
        assert set(picked.values()) == {"C1", "C2"}

    def test_who_may_fetch_trays_alone_picks_no_box(self, of, version, sterile_services):
        made = scan(version=version, text=STEM, by=sterile_services, now=NOW)
        assert told(made) == (ScanAnswer.STOP, "not taken")
        assert made.reason["read"] == (
            "Box S1 is fetched by the theatre team or the implant coordinator."
        )
        of.stems[0].refresh_from_db()
        assert of.stems[0].state == UnitState.ON_THE_SHELF
        tray = scan(version=version, text="BASE/1", by=sterile_services, now=NOW)
        assert told(tray)[0] == ScanAnswer.MATCHES_LIST

    def test_a_tray_that_another_case_has(self, of, read, sterile_services):
        now = {"by": sterile_services, "now": NOW}
        tray = of.trays[0]
        move_tray(tray=tray, stage=Stage.ISSUED, ready_at=NOW, case_ref="C9", **now)
        made = read("BASE/1")
        assert told(made) == (ScanAnswer.STOP, "issued to another case")
        assert made.reason["read"] == "tray BASE/1, issued to case C9"

    def test_what_the_database_refuses_is_a_stop_and_ticks_nothing(self, of, read, monkeypatch):
        """The match saw the box free; by the time it is taken another case holds it."""
        factories.promised_unit(factories.case(of.site, "C9"), of.stems[0])
        line = PickLine.objects.get(unit=of.stems[0])
        matches = Answer(Word.MATCHES_LIST, "matches", line.pk)
        monkeypatch.setattr(scans, "match", lambda *args, **values: matches)
        made = read(STEM)
        assert told(made) == (ScanAnswer.STOP, "not taken")
        assert "its record has changed at this moment" in made.reason["read"]
        of.stems[0].refresh_from_db()
        assert of.stems[0].state == UnitState.ON_THE_SHELF

    def test_what_was_put_back_is_taken_again(self, of, read, coordinator):
        read(STEM)
        put_back(unit=of.stems[0], by=coordinator, now=NOW)
        assert told(read(STEM)) == (ScanAnswer.ALREADY_SCANNED, "taken again")
        of.stems[0].refresh_from_db()
        assert of.stems[0].state == UnitState.PICKED


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
    ("text", "queries"), [(STEM, 29), ("BASE/1", 28), ("rubbish", 8), ("HD-36 LH", 30)]
)
def test_costs_a_fixed_number_of_queries(
    version, coordinator, django_assert_num_queries, text, queries
):
    with django_assert_num_queries(queries):
        scan(version=version, text=text, by=coordinator, now=NOW)
