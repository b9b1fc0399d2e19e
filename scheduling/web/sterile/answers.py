"""What a scan at a bench is answered: a fixed word, what was scanned; beside STOP both values."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponseRedirect

from deploy.kit.errors import Refused
from trays.models import Tray
from trays.stages import HELD_STAGES
from trays.stations import may_follow_in_words

MOVED, STOP, ALREADY = "MOVED", "STOP", "ALREADY SCANNED"
LIFTED_BY_NAME = "A named person lifts the hold on the tray’s page."


@dataclass(frozen=True, slots=True)
class Answer:
    """As the component `_scan_answer` shows it."""

    kind: str
    word: str
    title: str
    read: str
    asked: str = ""
    note: str = ""
    what_to_do: str = ""
    expected: str = "Wanted"
    about: str = ""
    about_pk: int = 0
    """The tray that was scanned: for what is asked about it next, and the way to its page."""


def _about(tray: Tray | None) -> dict[str, Any]:
    return {"about": tray.code, "about_pk": tray.pk} if tray else {}


def moved(tray: Tray, title: str, note: str = "") -> Answer:
    return Answer("matches", MOVED, title, f"tray {tray.code}", note=note, **_about(tray))


def stop(
    title: str,
    *,
    asked: str,
    read: str,
    expected: str = "Wanted",
    what_to_do: str = "",
    tray: Tray | None = None,
) -> Answer:
    return Answer(
        "stop", STOP, title, read, asked, "", what_to_do, expected=expected, **_about(tray)
    )


def refused(refusal: Refused, tray: Tray | None, doing: str, text: str = "") -> Answer:
    """A refusal of an operation: where the tray is and what may follow, against what was asked."""
    if tray is None:
        return stop(refusal.say(), asked=doing, read=text)
    if refusal.code == "already":
        return Answer("already", ALREADY, refusal.say(), f"tray {tray.code}", **_about(tray))
    held = tray.stage in HELD_STAGES
    after = "" if held else may_follow_in_words(tray.stage)
    return stop(
        refusal.say(),
        asked=f"{tray.stage}; after it may follow: {after}" if after else tray.stage,
        read=f"tray {tray.code}, for {doing}",
        expected="Where it is",
        what_to_do=LIFTED_BY_NAME if held else "",
        tray=tray,
    )


SESSION, PARAMETER, KEPT = "bench_answers", "answered", 6
ONE_TIME = (PARAMETER, "at", "missing")


def answered(request: HttpRequest, answer: Answer, **also: str) -> HttpResponseRedirect:
    """Back to the page that was scanned on, where `kept` gives the answer.

    The answer waits in the session, since the request that did something ends with a redirect.
    """
    waiting: dict[str, Any] = request.session.get(SESSION, {})
    number = str(max(map(int, waiting), default=0) + 1)
    newest = dict(list(waiting.items())[1 - KEPT :])
    request.session[SESSION] = {**newest, number: asdict(answer)}
    asked = {name: value for name, value in request.GET.items() if name not in ONE_TIME}
    asked |= {**{name: value for name, value in also.items() if value}, PARAMETER: number}
    return HttpResponseRedirect(f"{request.path}?{urlencode(asked)}")


def kept(request: HttpRequest) -> Answer | None:
    """The answer that the address asks for; None without one, or where it is too old."""
    number = request.GET.get(PARAMETER, "")
    said = request.session.get(SESSION, {}).get(number)
    return Answer(**said) if said else None
