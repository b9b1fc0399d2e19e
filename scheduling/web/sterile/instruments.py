"""Instruments between trays: what came back mixed, what is borrowed, what is out of its tray.

Scanned one after the other: the tray that gives, the tray that gets, then each instrument.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from deploy.kit.signed_act import sign
from scheduling.web.requests import PersonsRequest
from scheduling.web.sterile import answers
from scheduling.web.sterile.answers import Answer
from scheduling.web.sterile.reading import tray_scanned
from trays.instruments_away import away
from trays.models import Instrument, Tray, Way
from trays.models.instrument_entry import BETWEEN_TRAYS, OUT_OF_TRAYS
from trays.operations.instruments import (
    move_instrument,
    put_instrument_back,
    take_instrument_out,
)
from trays.stations import station_scanned

WAYS = dict(enumerate(Way, start=1))
"""Number key → what is being done."""
BEGIN_ANEW = "<"


@dataclass(frozen=True, slots=True)
class Going:
    """What the address says is being done: how, and between which trays."""

    way: Way
    giver: Tray | None
    taker: Tray | None

    @property
    def wants(self) -> str:
        """What is to be scanned next."""
        if self.giver is None:
            return "Tray that gets it back" if self.way is Way.BACK else "Tray that gives it"
        if self.way in BETWEEN_TRAYS and self.taker is None:
            return "Tray that gets it"
        return "Instrument"

    def address(self, **other: str) -> str:
        said = {"way": str(self.way)}
        said |= {"giver": self.giver.code} if self.giver else {}
        said |= {"taker": self.taker.code} if self.taker else {}
        return f"{reverse('instruments')}?{urlencode(said | other)}"


@requires("trays.process_trays")
@require_http_methods(["GET", "HEAD", "POST"])
def instruments(request: PersonsRequest) -> HttpResponse:
    going = _going(request)
    if request.method == "POST":
        if "put_back" in request.POST:
            return _put_back(request, going)
        text = request.POST.get("text", "").replace("\0", "").strip()
        if not text:
            return redirect(going.address())
        if (station := station_scanned(text)) is not None:
            return redirect("bench_station", station.slug)
        if text == BEGIN_ANEW:
            return redirect(Going(going.way, None, None).address())
        if text.isdecimal() and int(text) in WAYS:
            return redirect(Going(WAYS[int(text)], None, None).address())
        return _scanned(request, going, text)
    return _page(request, going)


def _page(
    request: PersonsRequest, going: Going, said_of: int | None = None, said: str = ""
) -> HttpResponse:
    """`said`: what was typed of the entry `said_of`, where it was refused; it stands still."""
    site = request.person.site
    page: dict[str, Any] = {
        "going": going,
        "between": going.way in BETWEEN_TRAYS,
        "ways": [(n, way, Going(way, None, None).address()) for n, way in WAYS.items()],
        "away": [(one, site.local(one.at)) for one in away(site)],
        "signed": OUT_OF_TRAYS,
        "said_of": said_of,
        "said": said,
        "answer": answers.kept(request),
        "as_of": site.local(site.now()),
    }
    return render(request, "scheduling/sterile/instruments.html", page)


def _going(request: PersonsRequest) -> Going:
    """Two queries at most; a tray that is no longer there is not said."""
    said = request.GET
    way = Way(said["way"]) if said.get("way") in Way.values else Way.MIXED
    codes = [said.get("giver", ""), said.get("taker", "")]
    trays = {
        tray.code: tray
        for tray in Tray.objects.filter(
            site=request.person.site, code__in=filter(None, codes)
        ).select_related("configuration", "site")
    }
    return Going(way, trays.get(codes[0]), trays.get(codes[1]))


def _scanned(request: PersonsRequest, going: Going, text: str) -> HttpResponse:
    site = request.person.site
    instrument = Instrument.objects.filter(site=site, ref=text).first()
    if instrument is not None and going.wants == "Instrument":
        return answers.answered(request, _moved(request, going, instrument))
    tray = tray_scanned(site, text)
    if isinstance(tray, str) or going.wants == "Instrument":
        title = tray if isinstance(tray, str) else "Both sides are said. Type < to begin anew."
        return answers.answered(
            request, answers.stop(title, asked=going.wants.lower(), read=text[:80])
        )
    if going.giver is None:
        return redirect(Going(going.way, tray, None).address())
    return redirect(Going(going.way, going.giver, tray).address())


def _moved(request: PersonsRequest, going: Going, instrument: Instrument) -> Answer:
    giver, taker = going.giver, going.taker
    assert giver is not None
    who: dict[str, Any] = {"by": request.person, "now": request.person.site.now()}
    words = f"{instrument.in_words()} ({instrument.ref})"
    try:
        if going.way in OUT_OF_TRAYS:
            take_instrument_out(instrument=instrument, tray=giver, way=going.way, **who)
            return Answer(
                "matches", "OUT", f"{words}: {going.way}", f"missing from tray {giver} now"
            )
        if going.way is Way.BACK:
            return _back_by_scan(giver, instrument, words, who)
        assert taker is not None
        borrowed = going.way is Way.BORROWED
        move_instrument(
            instrument=instrument, from_tray=giver, to_tray=taker, borrowed=borrowed, **who
        )
    except Refused as refusal:
        asked = f"{going.way}: {giver}{f' to {taker}' if taker else ''}"
        return answers.stop(refusal.say(), asked=asked, read=words)
    read = f"missing from tray {giver} now" if borrowed else f"from tray {giver}"
    return Answer("matches", answers.MOVED, f"{words} to tray {taker}", read)


def _back_by_scan(tray: Tray, instrument: Instrument, words: str, who: dict[str, Any]) -> Answer:
    """The piece that the tray lent, back into it."""
    lent = away(tray.site).filter(from_tray=tray, instrument=instrument)
    entry = lent.filter(way=Way.BORROWED).first()
    if entry is not None:
        put_instrument_back(entry=entry, **who)
        return Answer("matches", answers.MOVED, f"{words} back in tray {tray}", f"{entry.to_tray}")
    other = lent.first()
    return answers.stop(
        f"It is out of its tray ({other.way}): sign for it below." if other else "It is not away.",
        asked=f"what tray {tray} has lent",
        read=words,
    )


def _put_back(request: PersonsRequest, going: Going) -> HttpResponse:
    """By the list of what is away.  What was in quarantine or in repair is signed for."""
    pk, note = request.POST.get("put_back", ""), request.POST.get("note", "")
    entry = away(request.person.site).filter(pk=pk if pk.isdecimal() else 0).first()
    try:
        if entry is None:
            messages.error(request, "Nothing was changed. It is not away any more.")
            return redirect(going.address())
        if entry.way in OUT_OF_TRAYS:
            sign(request, act=f"{entry.instrument.ref} back into tray {entry.from_tray}")
        put_instrument_back(
            entry=entry, note=note, by=request.person, now=request.person.site.now()
        )
    except Refused as refusal:
        messages.error(request, f"Nothing was changed. {refusal.say()}")
        return _page(request, going, entry.pk if entry else None, note)
    return redirect(going.address())
