"""Our own writer against an independent reader of RFC 5545."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.calendar_file import Event, calendar

START = datetime(2027, 3, 1, 8, 30, tzinfo=UTC)


def event(title: str = "Covered", **more: str) -> Event:
    return Event("case-1@x", START, START + timedelta(hours=2), title, **more)


def read(*events: Event) -> list[icalendar.Component]:
    found = icalendar.Calendar.from_ical(calendar("Booked cases", events, now=START))
    return list(found.walk("VEVENT"))


def test_an_independent_reader_finds_what_was_written():
    (found,) = read(
        event("At risk · C1", place="T1", text="a; b, c\nd\\e", url="http://x/cases/1/")
    )
    assert str(found["SUMMARY"]) == "At risk · C1"
    assert str(found["DESCRIPTION"]) == "a; b, c\nd\\e"
    assert (str(found["LOCATION"]), str(found["URL"])) == ("T1", "http://x/cases/1/")
    assert found["DTSTART"].dt == START
    assert found["DTEND"].dt == START + timedelta(hours=2)
    assert found["UID"] == "case-1@x"
    assert not found.errors


@pytest.mark.parametrize("number", [0, 3])
def test_every_event_is_there(number):
    assert len(read(*[event()] * number)) == number


def test_lines_are_folded_at_75_octets_and_never_inside_a_character():
    body = calendar("x", [event("é" * 200)], now=START)
    assert all(len(line) <= 75 for line in body.split(b"\r\n"))
    assert body.decode().replace("\r\n ", "").count("é") == 200


@given(st.text(st.characters(blacklist_categories=("Cs", "Cc", "Zl", "Zp")), max_size=300))
def test_any_title_reads_back(title):
    (found,) = read(event(f"<{title}>"))
    assert str(found["SUMMARY"]) == f"<{title}>"
