"""An instrument is missing from a tray: who needs it, and what could help.  On values.

What a missing instrument changes is found by deciding twice, with it and without it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduling.coverage.engine import Decision
from scheduling.coverage.report import Verdict
from scheduling.coverage.values import SUPPLEMENTARY, Need
from scheduling.coverage.whatif import what_if
from scheduling.web.arrangement import uses_by_tray
from scheduling.words import item_in_words


@dataclass(frozen=True, slots=True)
class CaseInNeed:
    """A booked case that asks for the instrument; moments are local.  `before`: its verdict with
    the instrument in the tray.  `has_tray`: the case has been given this very tray."""

    case: str
    theatre: str
    needed_by: datetime
    need: Need
    before: Verdict | None
    now: Verdict
    has_tray: bool
    short: int

    @property
    def changed(self) -> bool:
        return self.before is not None and self.before is not self.now


@dataclass(frozen=True, slots=True)
class Helper:
    """A tray or pack that holds the instrument.  `given_to`: the cases that it serves."""

    tray: str
    configuration: str
    is_pack: bool
    stage: str
    location: str
    ready: datetime | None
    ready_already: bool
    given_to: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Missing:
    """`words`: the instrument.  `cases` in time order, `helpers` the ready and free ones first."""

    ref: str
    words: str
    tray: str
    cases: tuple[CaseInNeed, ...]
    helpers: tuple[Helper, ...]

    @property
    def changed(self) -> tuple[CaseInNeed, ...]:
        return tuple(case for case in self.cases if case.changed)

    @property
    def spare_packs(self) -> tuple[Helper, ...]:
        return tuple(one for one in self.helpers if one.is_pack and not one.given_to)


def who_needs(
    decision: Decision, tray: str, ref: str, stages: Mapping[str, str] | None = None
) -> Missing:
    """Who needs the instrument that the tray lacks in the decided scenario.

    `stages`: by tray code.  KeyError for an unknown tray.  Two decisions, the second of
    which takes over what is the same.
    """
    scenario, report = decision.scenario, decision.report
    zone = ZoneInfo(scenario.site.timezone)
    lacking = scenario.trays[tray]
    whole = replace(
        lacking, missing={item: n for item, n in lacking.missing.items() if item != ref}
    )
    with_it = Decision(replace(scenario, trays={**scenario.trays, tray: whole}), decision)
    before = {
        one.case: one.verdicts[0] for one in what_if(with_it, scenario).cases if one.verdict_changes
    }
    uses = uses_by_tray(report)
    with_tray = {use.case for use in uses.get(tray, ())} | {
        use.case for use in uses_by_tray(with_it.report).get(tray, ())
    }
    cases = []
    for of_case in report.cases:
        lines = [line for line in of_case.lines if line.item == ref]
        if not lines:
            continue
        cases.append(
            CaseInNeed(
                case=of_case.case,
                theatre=scenario.cases[of_case.case].theatre,
                needed_by=of_case.needed_by.astimezone(zone),
                need=lines[0].need,
                before=before.get(of_case.case),
                now=of_case.verdict,
                has_tray=of_case.case in with_tray,
                short=sum(line.short for line in lines),
            )
        )
    helpers = []
    for code, other in scenario.trays.items():
        configuration = scenario.configurations[other.configuration]
        holds = configuration.contents.get(ref, 0) - other.missing.get(ref, 0)
        if code == tray or holds < 1 or other.withdrawn:
            continue
        ready = other.ready or other.arrives
        helpers.append(
            Helper(
                tray=code,
                configuration=configuration.name or configuration.code,
                is_pack=configuration.kind == SUPPLEMENTARY,
                stage=(stages or {}).get(code, ""),
                location=other.location,
                ready=ready.astimezone(zone) if ready else None,
                ready_already=other.ready is not None and other.ready <= report.now,
                given_to=tuple(use.case for use in uses.get(code, ())),
            )
        )
    helpers.sort(
        key=lambda one: (bool(one.given_to), not one.ready_already, not one.is_pack, one.tray)
    )
    return Missing(ref, item_in_words(scenario, ref), tray, tuple(cases), tuple(helpers))
