from __future__ import annotations

from collections.abc import Mapping

from deploy.kit.models import Site
from implants.models import Unit
from scheduling.coverage.clock import Clock
from scheduling.coverage.scenario_write import components_json, facts_json
from scheduling.coverage.values import Scenario
from scheduling.models import (
    Case,
    ConfirmationGiven,
    PlanVersion,
    Surgeon,
    Technique,
    Theatre,
    TrayReservation,
    UnitReservation,
)
from scheduling.scenario_files.loadable import tray_busy
from trays.models import Tray


def load_cases(
    site: Site,
    scenario: Scenario,
    techniques: Mapping[str, Technique],
    trays: Mapping[str, Tray],
    units: Mapping[str, Unit],
) -> None:
    """The cases as booked, each with its first plan, confirmations and reservations."""
    now = scenario.site.now
    clock = Clock(scenario.site)
    stated = scenario.cases.values()
    theatres = _theatres(site, scenario)
    surgeons = _surgeons(site, scenario)
    rows = Case.objects.bulk_create(
        Case(
            site=site,
            ref=one.ref,
            theatre=theatres.get(one.theatre),
            surgeon=surgeons.get(one.surgeon),
            start=one.start,
            minutes=one.minutes,
            priority=one.priority.value,
            side=one.side,
        )
        for one in stated
    )
    cases = {row.ref: row for row in rows}
    plans = PlanVersion.objects.bulk_create(
        PlanVersion(
            case=cases[one.ref],
            number=1,
            technique=techniques[one.technique],
            components=components_json(one.components),
            facts=facts_json(one.facts),
            made_at=now,
        )
        for one in stated
    )
    ConfirmationGiven.objects.bulk_create(
        ConfirmationGiven(plan=plan, code=code, at=now)
        for one, plan in zip(stated, plans, strict=True)
        for code in sorted(one.confirmed)
    )
    UnitReservation.objects.bulk_create(
        UnitReservation(
            case=cases[one.ref],
            unit=units[code],
            at=now,
            used_on=site.local(cases[one.ref].end).date(),
        )
        for one in stated
        for code in one.reserved_units
    )
    TrayReservation.objects.bulk_create(
        TrayReservation(
            case=cases[one.ref], tray=trays[code], at=now, busy_from=begins, busy_until=ends
        )
        for one in stated
        for code in one.reserved_trays
        for begins, ends in [tray_busy(scenario, clock, one, code)]
    )


def _theatres(site: Site, scenario: Scenario) -> dict[str, Theatre]:
    codes = sorted({case.theatre for case in scenario.cases.values()} - {""})
    rows = Theatre.objects.bulk_create(Theatre(site=site, code=code) for code in codes)
    return {row.code: row for row in rows}


def _surgeons(site: Site, scenario: Scenario) -> dict[str, Surgeon]:
    names = sorted({case.surgeon for case in scenario.cases.values()} - {""})
    rows = Surgeon.objects.bulk_create(Surgeon(site=site, name=name) for name in names)
    return {row.name: row for row in rows}
