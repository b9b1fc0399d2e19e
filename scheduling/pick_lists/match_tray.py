"""A scanned tray against the list."""

from __future__ import annotations

from datetime import datetime

from scheduling.pick_lists.scan_values import Answer, Asked, AskedLine, TrayRead, TrayState, Word
from scheduling.pick_lists.words import day_and_clock


def match_tray(read: TrayRead, asked: Asked, *, now: datetime) -> Answer:
    """Judge a tray.  A tray that two cases of the day use ticks the line of the first that is
    not over: the second use needs a turnaround, and a scan of its own after it.
    """
    if not read.code:
        return _stop("unknown tray", "a tray of this site", read.said)
    tray = next(tray for tray in asked.trays if tray.code == read.code)
    lines = [line for line in asked.lines if line.tray is not None and not line.is_over]
    line = next((line for line in lines if _tray(line).code == tray.code), None)
    if refusal := _not_usable(tray, line, now):
        return refusal
    if line is None:
        return _wrong_tray(tray, lines)
    if tray.issued_to and tray.issued_to != line.case:
        return _stop(
            "issued to another case",
            f"a tray for case {line.case}",
            f"tray {tray.code}, issued to case {tray.issued_to}",
            line.id,
        )
    if line.lacking:
        return _stop(
            "lacks an instrument",
            f"tray {tray.code} with {', '.join(line.lacking)}",
            f"tray {tray.code} without {', '.join(line.lacking)}",
            line.id,
        )
    words = f"tray {tray.code}"
    if line.ticked:
        return Answer(Word.ALREADY_SCANNED, "already scanned", line.id, words, words)
    return Answer(Word.MATCHES_LIST, "matches", line.id, words, words)


def _not_usable(tray: TrayState, line: AskedLine | None, now: datetime) -> Answer | None:
    number = line.id if line else None
    if tray.hold:
        return _stop(
            "tray on hold", "a tray that is free", f"tray {tray.code}: {tray.hold}", number
        )
    if tray.unready:
        return _stop(
            "tray not ready", "a sterile tray", f"tray {tray.code}: {tray.unready}", number
        )
    if tray.ready_at is not None and tray.ready_at > now:
        return _stop(
            "tray not ready",
            "a sterile tray",
            f"tray {tray.code}: ready {day_and_clock(tray.ready_at)}",
            number,
        )
    until = tray.sterile_until
    last = max(now, line.end) if line else now
    if until is not None and until < last:
        return _stop(
            "sterile date is over",
            f"sterile until {day_and_clock(last)} or later",
            f"tray {tray.code}: sterile until {day_and_clock(until)}",
            number,
        )
    return None


def _wrong_tray(tray: TrayState, lines: list[AskedLine]) -> Answer:
    kin = [line for line in lines if _tray(line).configuration == tray.configuration]
    read = f"tray {tray.code}"
    if tray.promised_to:
        read += f", reserved for case {', '.join(tray.promised_to)}"
    if kin:
        line = next((line for line in kin if not line.ticked), kin[0])
        return _stop("other tray", f"tray {_tray(line).code}", read, line.id)
    trays = ", ".join(dict.fromkeys(_tray(line).code for line in lines))
    return _stop("not on this list", f"tray {trays}" if trays else "no tray", read)


def _tray(line: AskedLine) -> TrayState:
    assert line.tray is not None
    return line.tray


def _stop(code: str, asked: str, read: str, line: int | None = None) -> Answer:
    return Answer(Word.STOP, code, line, asked, read)
