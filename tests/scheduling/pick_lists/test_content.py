from __future__ import annotations

from collections import Counter
from datetime import date

import pytest

from scheduling.coverage.report import Status
from scheduling.coverage.values import Need
from scheduling.fault_words import faults_in_words
from scheduling.gaps import question_in_words
from scheduling.pick_lists.record import from_record, to_record
from scheduling.pick_lists.values import Kind, by_location
from tests.scheduling.pick_lists.samples import (
    LONDON,
    demonstration,
    demonstration_day,
    demonstration_list,
)

SCENARIO, REPORT = demonstration()
CASES = [report.case for report in REPORT.cases]


@pytest.mark.parametrize("case", CASES)
def test_nothing_that_the_case_wants_is_left_out(case):
    """Every piece of every need is a line to fetch or under not to hand."""
    report = REPORT.case(case)
    (section,) = demonstration_list(case).sections
    fetched = Counter((line.need, line.item) for line in section.boxes)
    absent = Counter[tuple[Need, str]]()
    for each in section.absent:
        absent[each.need, each.item] += each.quantity
    for line in report.lines:
        if line.item in SCENARIO.implants:
            key = (line.need, line.item)
            assert fetched[key] + absent[key] == line.quantity, line
        elif not line.is_held:
            told = [text for each in section.absent for text in (each.item, *each.because)]
            words = str(SCENARIO.instruments[line.item].role)
            assert any(line.item == text or words.lower() in text.lower() for text in told), line
    held = {code for each in report.sets for code in each.trays} | set(report.packs)
    awaited = {code for code in held if SCENARIO.trays[code].arrives}
    assert {line.code for line in section.trays} == held - awaited
    for each in report.sets:
        named = [absent.what for absent in section.absent]
        assert (f"Set for {each.purpose}" in named) == (each.status is not Status.HELD)
    technique = SCENARIO.techniques[SCENARIO.cases[case].technique]
    questions = [question_in_words(technique, one) for one in report.questions]
    for text in (*faults_in_words(report.faults), *questions):
        assert any(text in said for said in section.unsettled)


@pytest.mark.parametrize("case", CASES)
def test_no_box_or_tray_is_fetched_twice_for_a_case(case):
    (section,) = demonstration_list(case).sections
    assert len({(line.kind, line.code) for line in section.lines}) == len(section.lines)


def test_a_missing_set_takes_its_instruments_along():
    (section,) = demonstration_list("OG-1010").sections
    (absent,) = section.absent
    assert (absent.what, absent.state) == ("Set for femoral preparation", "short")
    assert "BASE-B/6 is on hold: Hole in the wrap, found at issue on Friday." in (absent.because)
    assert absent.because[-2].startswith("with it, planned: Trial head, Ø 32 mm, neck +0 mm;")
    assert absent.because[-1].startswith("with it, contingency: ")


def test_what_is_on_order_is_not_to_fetch():
    (section,) = demonstration_list("OG-1023").sections
    (ordered, short) = section.absent
    assert (ordered.state, ordered.because) == (
        "on order",
        ("depends on box SH-M40P8/1, due Fri 5 Mar 12:00",),
    )
    assert short.state == "short"
    assert "SH-M40P8/1" not in {line.code for line in section.lines}


def test_a_fast_track_is_on_the_list_and_under_not_to_hand():
    (section,) = demonstration_list("OG-1002").sections
    (absent,) = section.absent
    assert (absent.what, absent.state) == ("Set for cables", "only by fast track")
    (cable,) = [line for line in section.trays if line.item == "CABLE"]
    assert cable.note == (
        "Sterile until Mon 1 March 2027, 12:00: to be reprocessed before this case"
    )


def test_a_tray_that_another_case_uses_before_says_so():
    (section,) = demonstration_list("OG-1012").sections
    notes = {line.item: line.note for line in section.trays}
    assert notes == {"ACET": "Only after case OG-1044 and a turnaround", "POWER": ""}


def test_trays_come_before_implants_and_each_in_walking_order():
    (section,) = demonstration_list("OG-1012").sections
    assert [line.kind for line in section.lines] == [Kind.TRAY] * 2 + [Kind.BOX] * 25
    places = [place for place, _ in by_location(section.boxes)]
    assert places == sorted(set(places))  # the demonstration's locations have leading zeros


def test_a_day_has_its_cases_in_time_order_each_with_its_own_section():
    content = demonstration_day("Theatre 1", date(2027, 3, 3))
    starts = [section.start for section in content.sections]
    assert starts == sorted(starts)
    assert len(starts) > 1
    assert {section.theatre for section in content.sections} == {"Theatre 1"}


def test_a_case_that_is_not_booked_is_an_error():
    with pytest.raises(KeyError, match="NOBODY"):
        demonstration_list("NOBODY")


@pytest.mark.parametrize("case", CASES)
def test_the_record_gives_the_same_content_again(case):
    content = demonstration_list(case)
    assert from_record(to_record(content), LONDON) == content
