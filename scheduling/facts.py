"""The database as the engine's input: one site at one moment, in a fixed number of queries.

What the database can hold and the engine's values cannot is settled here, always so that it
never flatters: times are in whole minutes, what becomes available rounded up, what ends rounded
down; a tray that was assembled to an older count sheet lacks what the one in force adds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef

from deploy.kit.attributes import Value
from deploy.kit.catalogue import exact
from deploy.kit.ledger import NOT_ENTERED
from deploy.kit.models import Site
from implants.models import Implant, Unit
from implants.states import STOCK, UnitState
from scheduling.coverage import values
from scheduling.coverage.scenario_fields import Entry
from scheduling.coverage.scenario_json import ScenarioFaults
from scheduling.coverage.scenario_read_case import read_components, read_facts
from scheduling.coverage.scenario_read_technique import Kinds, read_technique
from scheduling.models import (
    Case,
    CaseStatus,
    ClosedDate,
    ConfirmationGiven,
    HouseSettings,
    OpeningHours,
    PlanVersion,
    Technique,
    TrayReservation,
    UnitReservation,
)
from trays.models import Configuration, ConfigurationVersion, Content, Instrument, MissingLine, Tray

NO_PLAN = "no plan yet"
"""The technique of a case without a plan: it asks for nothing, which the engine calls a fault."""


def scenario_now(site: Site, now: datetime | None = None) -> values.Scenario:
    """The site as it is recorded, at `now` (the site's present moment where it is left out).

    Cases that are booked or started, each with the plan in force (the highest number), the
    confirmations of that plan and its live reservations.  21 queries.  Raises ScenarioFaults
    where a stored technique or plan breaks the format: no verdict rests on half of a plan.
    """
    faults: list[str] = []
    configurations = _configurations(site)
    kinds = {code: one.kind for code, one in configurations.by_code.items()}
    techniques = _techniques(site, kinds, faults)
    cases = _cases(site, techniques, faults)
    if faults:
        raise ScenarioFaults(faults)
    shelf, picked = _shelf(site)
    _with_picked(shelf, picked, cases)
    return values.Scenario(
        site=site_values(site, now or site.now()),
        instruments=_instruments(site),
        implants=_implants(site),
        configurations=configurations.by_code,
        trays=_trays(site, configurations),
        shelf=shelf,
        techniques=techniques,
        cases=cases,
    )


def rounded_down(moment: datetime) -> datetime:
    return moment.replace(second=0, microsecond=0)


def rounded_up(moment: datetime) -> datetime:
    whole = rounded_down(moment)
    return whole if whole == moment else whole + timedelta(minutes=1)


# -- the site (3 queries) ---------------------------------------------------------------------


def site_values(site: Site, now: datetime) -> values.Site:
    """The site with its clock and intervals; without house settings the defaults of a new one.

    3 queries.
    """
    house = HouseSettings.objects.filter(site=site).first() or HouseSettings(site=site)
    return values.Site(
        name=site.name,
        timezone=site.timezone,
        now=rounded_down(now),
        needed_before_minutes=house.needed_before_minutes,
        out_of_theatre_minutes=house.out_of_theatre_minutes,
        shelf_return_minutes=house.shelf_return_minutes,
        loan_check_in_minutes=house.loan_check_in_minutes,
        order_cut_off_minute=house.order_cut_off_minute,
        delivery_minute=house.delivery_minute,
        closed_dates=frozenset(ClosedDate.objects.filter(site=site).values_list("day", flat=True)),
        opening={
            hours.weekday: (hours.opens_minute, hours.closes_minute)
            for hours in OpeningHours.objects.filter(site=site)
        },
        department=house.department(),
    )


# -- catalogue and shelf (3 queries) ----------------------------------------------------------


def _attributes(stored: Mapping[str, Any]) -> dict[str, Value]:
    return {key: exact(value) for key, value in stored.items()}


def _instruments(site: Site) -> dict[str, values.Instrument]:
    rows = Instrument.objects.filter(site=site).values_list("ref", "role", "name", "attributes")
    return {
        ref: values.Instrument(ref, role, name, _attributes(attributes))
        for ref, role, name, attributes in rows
    }


def _implants(site: Site) -> dict[str, values.Implant]:
    return {
        one.ref: values.Implant(
            ref=one.ref,
            role=one.role,
            name=one.name,
            attributes=one.exact_attributes(),
            gtin=one.gtin,
            lead_days=one.lead_days,
            replaced_on_use=one.replaced_on_use,
        )
        for one in Implant.objects.filter(site=site)
    }


def _shelf(site: Site) -> tuple[dict[str, values.Unit], dict[str, str]]:
    """What is here or on its way; and which of it is picked: unit code → case reference."""
    rows = Unit.objects.filter(site=site, state__in=STOCK).values_list(
        "code",
        "implant__ref",
        "expiry",
        "lot",
        "serial",
        "expected_at",
        "location",
        "owner",
        "hold",
        "state",
        "case_ref",
    )
    shelf = {}
    picked = {}
    for code, ref, expiry, lot, serial, expected, location, owner, hold, state, case in rows:
        if state == UnitState.PICKED:
            picked[code] = case
        shelf[code] = values.Unit(
            code=code,
            implant=ref,
            expiry=expiry,
            lot=lot,
            serial=serial,
            arrives=rounded_up(expected) if expected else None,
            location=location,
            owner=owner,
            hold=hold,
        )
    return shelf, picked


def _with_picked(
    shelf: dict[str, values.Unit], picked: Mapping[str, str], cases: dict[str, values.Case]
) -> None:
    """A box that is picked for a case is reserved for it.  Where that case is over and the box
    was not put back, nobody knows where it is: it serves no other."""
    for code, ref in picked.items():
        case = cases.get(ref)
        if case is None:
            shelf[code] = replace(shelf[code], hold=f"picked for case {ref}")
        elif code not in case.reserved_units:
            units = tuple(sorted([*case.reserved_units, code]))
            cases[ref] = replace(case, reserved_units=units)


# -- configurations and trays (5 queries) -----------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Configurations:
    """`by_code`: with the contents in force.  `sheets`: every version's contents, by its key."""

    by_code: Mapping[str, values.Configuration]
    sheets: Mapping[int, Mapping[str, int]]


def _configurations(site: Site) -> _Configurations:
    in_force = dict(
        ConfigurationVersion.objects.filter(configuration__site=site)
        .order_by("number")
        .values_list("configuration_id", "id")
    )
    sheets: dict[int, dict[str, int]] = defaultdict(dict)
    for version, ref, quantity in (
        Content.objects.filter(version__configuration__site=site)
        .order_by("version", "position", "id")
        .values_list("version_id", "instrument__ref", "quantity")
    ):
        sheets[version][ref] = quantity
    by_code = {
        one.code: values.Configuration(
            code=one.code,
            kind=one.kind,
            contents=sheets.get(in_force.get(one.pk, 0), {}),
            turnaround_minutes=one.turnaround_minutes,
            fast_track_minutes=one.fast_track_minutes,
            name=one.name,
        )
        for one in Configuration.objects.filter(site=site)
    }
    return _Configurations(by_code, sheets)


def _trays(site: Site, configurations: _Configurations) -> dict[str, values.Tray]:
    lacking: dict[int, dict[str, int]] = defaultdict(dict)
    for tray_id, ref, quantity in MissingLine.objects.filter(tray__site=site).values_list(
        "tray_id", "instrument__ref", "quantity"
    ):
        lacking[tray_id][ref] = quantity
    trays = {}
    entered = Tray.objects.filter(site=site).exclude(stage=NOT_ENTERED)
    for tray in entered.select_related("configuration"):
        in_force = configurations.by_code[tray.configuration.code].contents
        sheet = configurations.sheets.get(tray.version_id, {})
        trays[tray.code] = values.Tray(
            code=tray.code,
            configuration=tray.configuration.code,
            ready=rounded_up(tray.ready_at) if tray.ready_at else None,
            arrives=rounded_up(tray.expected_at) if tray.expected_at else None,
            # On hold, or with its lender and not expected: not available.
            withdrawn=tray.ready_at is None and tray.expected_at is None,
            sterile_until=rounded_down(tray.sterile_until) if tray.sterile_until else None,
            missing=missing_now(in_force, sheet, lacking.get(tray.pk, {})),
            location=tray.location,
            note=tray.note,
        )
    return trays


def missing_now(
    in_force: Mapping[str, int], sheet: Mapping[str, int], lacking: Mapping[str, int]
) -> dict[str, int]:
    """What a tray lacks of the count sheet in force: {ref: quantity}.

    It holds what the sheet it was assembled to lists, less what was noted as missing.  What it
    holds beyond the sheet in force is not counted: nobody will look for it there.
    """
    held = {ref: max(0, quantity - lacking.get(ref, 0)) for ref, quantity in sheet.items()}
    short = {ref: quantity - held.get(ref, 0) for ref, quantity in in_force.items()}
    return {ref: quantity for ref, quantity in short.items() if quantity > 0}


# -- techniques (5 queries) -------------------------------------------------------------------


def _techniques(site: Site, kinds: Kinds, faults: list[str]) -> dict[str, values.Technique]:
    rows = Technique.objects.filter(site=site).prefetch_related(
        "sets", "rules", "checks", "confirmations"
    )
    return {
        row.code: read_technique(technique_data(row), f'techniques["{row.code}"]', faults, kinds)
        for row in rows
    }


def technique_data(technique: Technique) -> dict[str, Any]:
    """A stored technique as the scenario format has it.  4 queries, or none after a prefetch."""
    return {
        "code": technique.code,
        "name": technique.name,
        "sets": [
            {"purpose": one.purpose, "options": one.options, "when": exactly(one.when)}
            for one in technique.sets.all()
        ],
        "rules": [
            {
                "role": one.role,
                "need": one.need,
                "select": exactly(one.select),
                "quantity": one.quantity,
                "when": exactly(one.when),
            }
            for one in technique.rules.all()
        ],
        "checks": [
            {
                "code": one.code,
                "kind": one.kind,
                "left": exactly(one.left),
                "right": exactly(one.right),
                "when": exactly(one.when),
            }
            for one in technique.checks.all()
        ],
        "confirmations": [
            {"code": one.code, "when": exactly(one.when)} for one in technique.confirmations.all()
        ],
    }


def exactly(stored: Any) -> Any:
    """Stored JSON with its decimals exact, as the readers of the format take it."""
    if isinstance(stored, dict):
        return {key: exactly(value) for key, value in stored.items()}
    if isinstance(stored, list):
        return [exactly(value) for value in stored]
    return exact(stored)


# -- cases (5 queries) ------------------------------------------------------------------------


def _cases(
    site: Site, techniques: dict[str, values.Technique], faults: list[str]
) -> dict[str, values.Case]:
    """The cases by reference; adds the technique that asks for nothing where one is needed."""
    live = Case.objects.filter(
        site=site, status__in=[CaseStatus.BOOKED, CaseStatus.STARTED]
    ).select_related("theatre", "surgeon")
    later = PlanVersion.objects.filter(case=OuterRef("case"), number__gt=OuterRef("number"))
    in_force = PlanVersion.objects.filter(~Exists(later), case__in=live)
    plans = {plan.case_id: plan for plan in in_force.select_related("technique")}
    given = _grouped(
        ConfirmationGiven.objects.filter(plan__in=in_force).values_list("plan__case_id", "code")
    )
    units = _grouped(
        UnitReservation.objects.filter(case__in=live, freed_at__isnull=True).values_list(
            "case_id", "unit__code"
        )
    )
    trays = _grouped(
        TrayReservation.objects.filter(case__in=live, freed_at__isnull=True).values_list(
            "case_id", "tray__code"
        )
    )
    cases = {}
    for case in live:
        plan = plans.get(case.pk)
        code = plan.technique.code if plan else NO_PLAN
        technique = techniques.setdefault(code, values.Technique(code))
        asked = {one.code for one in technique.confirmations}
        place = f'cases["{case.ref}"]'
        cases[case.ref] = values.Case(
            ref=case.ref,
            technique=code,
            start=rounded_down(case.start),
            minutes=case.minutes,
            priority=values.Priority(case.priority),
            theatre=case.theatre.code if case.theatre else "",
            surgeon=case.surgeon.name if case.surgeon else "",
            side=case.side,
            components=read_components(_stored(plan, "components", place, faults)),
            facts=read_facts(_stored(plan, "facts", place, faults)),
            # An answer to a question that the technique asks no more is kept, but says nothing.
            confirmed=frozenset(given.get(case.pk, ())) & asked,
            # Sorted here: databases differ in how they order texts.
            reserved_trays=tuple(sorted(trays.get(case.pk, ()))),
            reserved_units=tuple(sorted(units.get(case.pk, ()))),
        )
    return cases


def _stored(plan: PlanVersion | None, key: str, place: str, faults: list[str]) -> Entry:
    data = exactly(getattr(plan, key)) if plan else {}
    return Entry(data, f"{place}.{key}", faults, None)


def _grouped(rows: Iterable[tuple[int, str]]) -> dict[int, list[str]]:
    grouped: dict[int, list[str]] = defaultdict(list)
    for key, code in rows:
        grouped[key].append(code)
    return grouped
