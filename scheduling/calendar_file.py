"""A calendar as RFC 5545 writes it: lines of at most 75 octets, ended by CR and LF.  Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

LINE_OCTETS = 75
TYPE = "text/calendar; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Event:
    """Moments are aware.  `uid` stays the same for as long as the event is the same one."""

    uid: str
    start: datetime
    end: datetime
    title: str
    place: str = ""
    text: str = ""
    url: str = ""


def calendar(name: str, events: Iterable[Event], *, now: datetime) -> bytes:
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Muster//Booked cases//EN",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        # RFC 7986; the older name is what many calendars read.
        f"NAME:{escaped(name)}",
        f"X-WR-CALNAME:{escaped(name)}",
        "REFRESH-INTERVAL;VALUE=DURATION:PT15M",
        *(line for event in events for line in _event(event, now)),
        "END:VCALENDAR",
    ]
    return "".join(part + "\r\n" for line in lines for part in folded(line)).encode()


def _event(event: Event, now: datetime) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{event.uid}"
    yield f"DTSTAMP:{_moment(now)}"
    yield f"DTSTART:{_moment(event.start)}"
    yield f"DTEND:{_moment(event.end)}"
    yield f"SUMMARY:{escaped(event.title)}"
    if event.place:
        yield f"LOCATION:{escaped(event.place)}"
    if event.text:
        yield f"DESCRIPTION:{escaped(event.text)}"
    if event.url:
        yield f"URL:{event.url}"
    # Whose calendar it is may book other things over it: the theatre's list decides.
    yield "TRANSP:OPAQUE"
    yield "END:VEVENT"


def escaped(text: str) -> str:
    """RFC 5545, 3.3.11."""
    for character in ("\\", ";", ","):
        text = text.replace(character, "\\" + character)
    return "\\n".join(text.splitlines())


def folded(line: str) -> Iterator[str]:
    """RFC 5545, 3.1: cut at 75 octets, never inside a character; what follows begins with a
    space."""
    part, octets = "", 0
    for character in line:
        size = len(character.encode())
        if octets + size > LINE_OCTETS:
            yield part
            part, octets = " ", 1
        part += character
        octets += size
    yield part


def _moment(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"
