"""The database as the engine's input: one site at one moment, in a fixed number of queries.

What the database can hold and the engine's values cannot is settled here, always so that it
never flatters: times are in whole minutes, what becomes available rounded up, what ends rounded
down; a tray that was assembled to an older count sheet lacks what the one in force adds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db.models import Exists, OuterRef

from deploy.kit.attributes import Value
from deploy.kit.catalogue import exact
from deploy.kit.models import Site
from implants.models import Implant, Supplier, Unit
from implants.states import STOCK, UnitState
from scheduling.coverage import values
from scheduling.coverage.clock import Clock
from scheduling.coverage.scenario_fields import Entry
from scheduling.coverage.scenario_json import ScenarioFaults
from scheduling.coverage.scenario_read_case import read_components, read_facts
from scheduling.coverage.scenario_read_technique import Kinds, read_technique
from scheduling.facts_of_site import rounded_down, rounded_up, site_values
from scheduling.facts_of_trays import configuration_values, tray_values
from scheduling.models import (
    Case,
    CaseStatus,
    ConfirmationGiven,
    PlanVersion,
    Technique,
    TrayReservation,
    UnitReservation,
)
from scheduling.plans.windows import read_windows, with_windows
from scheduling.sterile.outages import machine_states, under_outages, waiting_at
from scheduling.words import NO_PLAN
from trays.models import Instrument


def scenario_now(
    site: Site, now: datetime | None = None, *, outages: bool = True
) -> values.Scenario:
    """The site as it is recorded, at `now` (the site's present moment where it is left out).

    Cases that are booked or started, each with the plan in force (the highest number), the
    confirmations of that plan and its live reservations.  21 queries, one more where an item has a
    supplier, three more while a machine is out of use.  Raises ScenarioFaults where a stored
    technique or plan breaks the format: no verdict rests on half of a plan.  `outages` False: as if
    every washer and steriliser worked.
    """
    faults: list[str] = []
    here = site_values(site, now or site.now())
    configurations = configuration_values(site, here.department)
    kinds = {code: one.kind for code, one in configurations.by_code.items()}
    techniques = _techniques(site, kinds, faults)
    cases = _cases(site, techniques, faults)
    if faults:
        raise ScenarioFaults(faults)
    shelf, picked = _shelf(site)
    _with_picked(shelf, picked, cases)
    trays = tray_values(site, Clock(here), configurations, cases)
    scenario = values.Scenario(
        site=here,
        instruments=_instruments(site),
        implants=_implants(site),
        configurations=configurations.by_code,
        trays=trays,
        shelf=shelf,
        techniques=techniques,
        cases=cases,
    )
    if not (outages and configurations.machine_is_down):
        return scenario
    machines = machine_states(site)
    waiting = waiting_at(site, machines, here.now, here.department, configurations.transport, cases)
    return under_outages(scenario, machines, waiting)


# -- catalogue and shelf (3 queries, 4 where an item has a supplier) --------------------------


def _attributes(stored: Mapping[str, Any]) -> dict[str, Value]:
    return {key: exact(value) for key, value in stored.items()}


def _instruments(site: Site) -> dict[str, values.Instrument]:
    rows = Instrument.objects.filter(site=site).values_list("ref", "role", "name", "attributes")
    return {
        ref: values.Instrument(ref, role, name, _attributes(attributes))
        for ref, role, name, attributes in rows
    }


def _implants(site: Site) -> dict[str, values.Implant]:
    rows = Implant.objects.filter(site=site).select_related("supplier")
    rows = rows.prefetch_related("supplier__closed_dates")
    suppliers = {one.supplier for one in rows if one.supplier}
    terms = {supplier: _terms(supplier) for supplier in suppliers}
    return {
        one.ref: values.Implant(
            ref=one.ref,
            role=one.role,
            name=one.name,
            attributes=one.exact_attributes(),
            gtin=one.gtin,
            lead_days=one.days_to_delivery,
            replaced_on_use=one.replaced_on_use,
            supplier=terms[one.supplier] if one.supplier else None,
        )
        for one in rows
    }


def _terms(supplier: Supplier) -> values.Supplier:
    closed = frozenset(each.day for each in supplier.closed_dates.all())
    return values.Supplier(supplier.code, supplier.cut_off_minute, closed)


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
        if plan and plan.windows:
            technique = with_windows(
                technique, read_windows(plan.windows, f'cases["{case.ref}"].windows', faults)
            )
            techniques[technique.code] = technique
        asked = {one.code for one in technique.confirmations}
        place = f'cases["{case.ref}"]'
        cases[case.ref] = values.Case(
            ref=case.ref,
            technique=technique.code,
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
