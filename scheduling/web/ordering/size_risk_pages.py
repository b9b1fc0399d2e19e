"""Size risk: a figure for whoever orders, from the house's own record.  It stands beside no
verdict, and changes none."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from deploy.kit.doors import requires
from deploy.kit.errors import Refused
from scheduling.operations.size_differences import accept_size_difference
from scheduling.queries import coverage_now
from scheduling.size_risk.difference import Rungs
from scheduling.size_risk.forecast import LadderRisk, ladder_risk, next_boxes
from scheduling.size_risk.kept import (
    Accepted,
    Whose,
    accepted_differences,
    implanted_sizes,
    in_force,
    least_cases,
)
from scheduling.size_risk.ladders import SizeLadder, ladders, sizes_made
from scheduling.size_risk.prior import PRIOR
from scheduling.size_risk.record import Line, LineRecord, records
from scheduling.size_risk.words import (
    basis_in_words,
    number_range,
    percent_range,
    record_in_words,
    shares_in_words,
)
from scheduling.web.requests import PersonsRequest
from scheduling.web.views import answer, case_pks
from scheduling.words import thing_in_words

WORTH_A_LOOK = 0.1
"""Cases without their size, at least, from which on a ladder is shown unfolded."""
NO_RECORD: dict[Rungs, int] = {}
Local = Callable[[datetime], datetime]
"""A moment as the clocks on the site's walls show it."""


@dataclass(frozen=True, slots=True)
class RecordShown:
    """A record, of a line or of one surgeon's cases on it.  `accepted`: what is in force, empty
    where nothing is; `accepted_at` is local; `proposed`: the record may be accepted, and is another
    than what is in force."""

    surgeon: str
    record: str
    seen: str
    cases: int
    accepted: str
    accepted_by: str
    accepted_at: datetime | None
    proposed: bool


@dataclass(frozen=True, slots=True)
class LineShown:
    """One line as the page shows it.  `surgeons`: each with a record of their own; `nameless`: the
    record of cases without a surgeon."""

    line: Line
    words: str
    of_all: RecordShown
    surgeons: tuple[RecordShown, ...]
    nameless: str
    left_out: int
    booked: int
    ladders: tuple[dict[str, Any], ...]


@requires("implants.order_implants")
@require_safe
def size_risk(request: PersonsRequest) -> HttpResponse:
    site = request.person.site
    coverage = coverage_now(site)
    least, pks = least_cases(site), case_pks(site)
    implants = coverage.scenario.implants.values()
    made = sizes_made((item.role, item.attributes) for item in implants)
    kept, accepted = records(implanted_sizes(site), made), accepted_differences(site)
    planned = [
        (
            ladder,
            [in_force(accepted, ladder.line, case.surgeon, least) for case in ladder.cases],
        )
        for ladder in ladders(coverage.scenario)
    ]
    lines = sorted({ladder.line for ladder, _ in planned} | set(kept))
    page = {
        "lines": [
            _line(
                site.local,
                line,
                kept.get(line, LineRecord(line, NO_RECORD, {}, 0)),
                accepted,
                least,
                [
                    (ladder, ladder_risk(ladder, differences))
                    for ladder, differences in planned
                    if ladder.line == line
                ],
                pks,
            )
            for line in lines
        ],
        "next_boxes": [
            (_ladder_words(box.ladder), box.size, f"{box.helps:.2f}") for box in next_boxes(planned)
        ],
        "least": least,
        "assumption": shares_in_words(PRIOR),
    }
    return answer(request, "ordering/size_risk", coverage, page)


@requires("implants.order_implants")
@require_POST
def accept(request: PersonsRequest) -> HttpResponse:
    """The record that was looked at is in force from now on."""
    line = Line(request.POST.get("role", ""), request.POST.get("system", ""))
    surgeon = request.POST.get("surgeon", "")
    try:
        accept_size_difference(
            line=line,
            surgeon=surgeon,
            seen=_seen(request.POST.get("seen", "")),
            by=request.person,
            now=request.person.site.now(),
        )
        of = f"{surgeon} on {_line_words(line)}" if surgeon else _line_words(line)
        messages.success(request, f"In force from now on for {of}.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("size_risk")


def _seen(text: str) -> dict[Rungs, int]:
    """The record as the form carries it; nonsense is no record that anybody saw."""
    try:
        said = json.loads(text)
        return {int(rungs): int(number) for rungs, number in said.items()}
    except (ValueError, AttributeError, TypeError):
        return {}


def _line(
    local: Local,
    line: Line,
    record: LineRecord,
    accepted: Mapping[Whose, Accepted],
    least: int,
    risks: list[tuple[SizeLadder, LadderRisk | None]],
    pks: dict[str, int],
) -> LineShown:
    def shown(surgeon: str) -> RecordShown:
        return _record(local, surgeon, record.of(surgeon), accepted.get((line, surgeon)), least)

    return LineShown(
        line=line,
        words=_line_words(line),
        of_all=shown(""),
        surgeons=tuple(shown(surgeon) for surgeon in record.by_surgeon if surgeon),
        nameless=record_in_words(record.by_surgeon[""]) if "" in record.by_surgeon else "",
        left_out=record.left_out,
        booked=sum(len(ladder.cases) for ladder, _ in risks),
        ladders=tuple(
            _ladder(local, risk, pks)
            for risk in sorted(
                (risk for _, risk in risks if risk is not None),
                key=lambda risk: -risk.without.low,
            )
        ),
    )


def _record(
    local: Local,
    surgeon: str,
    record: Mapping[Rungs, int],
    accepted: Accepted | None,
    least: int,
) -> RecordShown:
    cases = sum(record.values())
    stands = accepted if accepted and sum(accepted.record.values()) >= least else None
    return RecordShown(
        surgeon=surgeon,
        record=record_in_words(record),
        seen=json.dumps({str(rungs): number for rungs, number in record.items()}),
        cases=cases,
        accepted=record_in_words(stands.record) if stands else "",
        accepted_by=stands.by if stands else "",
        accepted_at=local(stands.at) if stands else None,
        proposed=cases >= least and (accepted is None or dict(accepted.record) != dict(record)),
    )


def _ladder(local: Local, risk: LadderRisk, pks: dict[str, int]) -> dict[str, Any]:
    return {
        "words": _ladder_words(risk.ladder),
        "without": number_range(risk.without),
        "worth_a_look": risk.without.low >= WORTH_A_LOOK,
        "cases": [
            {
                "ref": one.case.ref,
                "pk": pks.get(one.case.ref),
                "start": local(one.case.start),
                "surgeon": one.case.surgeon,
                "planned": one.planned,
                "boxes": one.boxes,
                "finds": percent_range(one.finds),
                "basis": basis_in_words(one.difference, one.case.surgeon),
            }
            for one in risk.cases
        ],
    }


def _line_words(line: Line) -> str:
    return thing_in_words(line.role, {"system": line.system} if line.system else {})


def _ladder_words(ladder: SizeLadder) -> str:
    return thing_in_words(ladder.line.role, dict(ladder.same))
