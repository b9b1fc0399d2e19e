"""The engine's values as the scenario format's JSON: one canonical text for one scenario.

Lists stand in order of code, keys in the format's order, what has no value is left out.  The
order of a count sheet, of options and of the parts of a technique is kept: it means something.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from deploy.kit.attributes import ATTRIBUTES, Value
from scheduling.coverage.scenario_fields import REF
from scheduling.coverage.scenario_read_site import INTERVALS, WEEKDAYS
from scheduling.coverage.values import (
    Case,
    Check,
    Component,
    Condition,
    Configuration,
    Confirmation,
    FromPlan,
    Implant,
    Instrument,
    OneOf,
    Priority,
    Rule,
    Scenario,
    Selection,
    SetAsked,
    Site,
    Supplier,
    Technique,
    Term,
    Times,
    Tray,
    Unit,
)

Json = dict[str, Any]
T = TypeVar("T")


def scenario_json(scenario: Scenario) -> Json:
    """The whole scenario as plain JSON values."""
    zone = ZoneInfo(scenario.site.timezone)
    return {
        "site": site_json(scenario.site, zone),
        "instruments": [instrument_json(one) for one in _sorted(scenario.instruments)],
        **_said(suppliers=[supplier_json(one) for one in suppliers_of(scenario)]),
        "implants": [implant_json(one) for one in _sorted(scenario.implants)],
        "configurations": [configuration_json(one) for one in _sorted(scenario.configurations)],
        "trays": [tray_json(one, zone) for one in _sorted(scenario.trays)],
        "shelf": [unit_json(one, zone) for one in _sorted(scenario.shelf)],
        "techniques": [technique_json(one) for one in _sorted(scenario.techniques)],
        "cases": [case_json(one, zone) for one in _sorted(scenario.cases)],
    }


def number_json(value: Value | bool) -> str | int | float | bool:
    """A value as JSON has it.  Decimals go through float, which keeps their 15 digits exactly."""
    if isinstance(value, Decimal):
        return int(value) if value == int(value) else float(value)
    return value


def time_json(moment: datetime, zone: ZoneInfo) -> str:
    """`moment` on the site's clocks, to the minute.

    The second of two equal local times cannot be told from the first in this form.
    """
    return moment.astimezone(zone).strftime("%Y-%m-%dT%H:%M").rjust(16, "0")


def minute_json(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def site_json(site: Site, zone: ZoneInfo) -> Json:
    return {
        "name": site.name,
        "timezone": site.timezone,
        "now": time_json(site.now, zone),
        **{key: getattr(site, key) for key in INTERVALS},
        "order_cut_off": minute_json(site.order_cut_off_minute),
        "delivery_time": minute_json(site.delivery_minute),
        "closed_dates": [day.isoformat() for day in sorted(site.closed_dates)],
        "sterile_services": {
            WEEKDAYS[weekday]: [minute_json(minute) for minute in site.opening[weekday]]
            for weekday in sorted(site.opening)
        },
        **_said(
            department={
                stage.name: {"places": stage.places, "minutes": stage.minutes}
                for stage in site.department
            }
        ),
    }


def instrument_json(instrument: Instrument) -> Json:
    return {
        "ref": instrument.ref,
        "role": instrument.role,
        **_said(name=instrument.name),
        **attributes_json(instrument.attributes),
    }


def suppliers_of(scenario: Scenario) -> list[Supplier]:
    """Whoever an implant of the scenario is ordered from, by code."""
    named = {one.supplier.code: one.supplier for one in scenario.implants.values() if one.supplier}
    return _sorted(named)


def supplier_json(supplier: Supplier) -> Json:
    cut_off = supplier.order_cut_off_minute
    return {
        "code": supplier.code,
        **({} if cut_off is None else {"order_cut_off": minute_json(cut_off)}),
        **_said(closed_dates=[day.isoformat() for day in sorted(supplier.closed_dates)]),
    }


def implant_json(implant: Implant) -> Json:
    return {
        "ref": implant.ref,
        "role": implant.role,
        **_said(name=implant.name, gtin=implant.gtin),
        **({} if implant.lead_days is None else {"lead_days": implant.lead_days}),
        **_said(
            replaced_on_use=implant.replaced_on_use,
            supplier=implant.supplier.code if implant.supplier else "",
        ),
        **attributes_json(implant.attributes),
    }


def configuration_json(configuration: Configuration) -> Json:
    fast_track = configuration.fast_track_minutes
    return {
        "code": configuration.code,
        **_said(name=configuration.name),
        "kind": configuration.kind,
        "contents": dict(configuration.contents),
        "turnaround_minutes": configuration.turnaround_minutes,
        **({} if fast_track is None else {"fast_track_minutes": fast_track}),
    }


def tray_json(tray: Tray, zone: ZoneInfo) -> Json:
    return {
        "code": tray.code,
        "configuration": tray.configuration,
        **_said(location=tray.location),
        **_times(zone, ready=tray.ready, arrives=tray.arrives),
        **_said(withdrawn=tray.withdrawn),
        **_times(zone, sterile_until=tray.sterile_until),
        **_said(missing=dict(sorted(tray.missing.items())), note=tray.note),
    }


def unit_json(unit: Unit, zone: ZoneInfo) -> Json:
    return {
        "unit": unit.code,
        "implant": unit.implant,
        **_said(lot=unit.lot, serial=unit.serial),
        "expiry": None if unit.expiry is None else unit.expiry.isoformat(),
        **_times(zone, arrives=unit.arrives),
        **_said(location=unit.location, owner="" if unit.owner == "owned" else unit.owner),
        **_said(hold=unit.hold),
    }


def technique_json(technique: Technique) -> Json:
    return {
        "code": technique.code,
        **_said(name=technique.name),
        "sets": [set_json(one) for one in technique.sets],
        "rules": [rule_json(one) for one in technique.rules],
        "checks": [check_json(one) for one in technique.checks],
        "confirmations": [confirmation_json(one) for one in technique.confirmations],
    }


def set_json(asked: SetAsked) -> Json:
    return {
        "purpose": asked.purpose,
        "options": [list(option) for option in asked.options],
        **_when(asked.when),
    }


def rule_json(rule: Rule) -> Json:
    select = {key: selection_json(rule.select[key]) for key in _attribute_order(rule.select)}
    return {
        "role": rule.role,
        "need": rule.need.value,
        **_said(select=select),
        **({} if rule.quantity == 1 else {"quantity": rule.quantity}),
        **_when(rule.when),
    }


def check_json(check: Check) -> Json:
    if check.kind == "equal":
        left, right = (_path(side[0]) for side in (check.left, check.right))
        return {
            "code": check.code,
            "kind": check.kind,
            "left": left,
            "right": right,
            **_when(check.when),
        }
    return {
        "code": check.code,
        "kind": check.kind,
        "left": [term_json(term) for term in check.left],
        "right": [term_json(term) for term in check.right],
        **_when(check.when),
    }


def confirmation_json(confirmation: Confirmation) -> Json:
    return {"code": confirmation.code, **_when(confirmation.when)}


def selection_json(selection: Selection) -> Any:
    if isinstance(selection, FromPlan):
        return {"plan": selection.path}
    if isinstance(selection, OneOf):
        return _one_or_list(selection.values)
    ladder: Json = {}
    if selection.start is not None and selection.start == selection.end:
        ladder["at"] = _end(selection.start)
    else:
        for key, end in (("from", selection.start), ("to", selection.end)):
            if end is not None:
                ladder[key] = _end(end)
    return {"ladder": {**ladder, **_said(below=selection.below, above=selection.above)}}


def term_json(term: Term) -> Any:
    if isinstance(term, FromPlan):
        return term.path
    if isinstance(term, Times):
        return {"times": number_json(term.factor), "of": term.path}
    return number_json(term)


def case_json(case: Case, zone: ZoneInfo) -> Json:
    return {
        "ref": case.ref,
        "technique": case.technique,
        "start": time_json(case.start, zone),
        "minutes": case.minutes,
        **({} if case.priority is Priority.ELECTIVE else {"priority": case.priority.value}),
        **_said(theatre=case.theatre, surgeon=case.surgeon, side=case.side),
        "components": components_json(case.components),
        "facts": facts_json(case.facts),
        **_said(
            confirmed=sorted(case.confirmed),
            reserved_trays=list(case.reserved_trays),
            reserved_units=list(case.reserved_units),
        ),
    }


def components_json(components: Mapping[str, Component]) -> Json:
    return {
        role: {
            **attributes_json(one.attributes),
            **({} if one.quantity == 1 else {"quantity": one.quantity}),
        }
        for role, one in sorted(components.items())
    }


def facts_json(facts: Mapping[str, Value | bool]) -> Json:
    return {name: number_json(value) for name, value in sorted(facts.items())}


def attributes_json(attributes: Mapping[str, Value]) -> Json:
    return {key: number_json(attributes[key]) for key in _attribute_order(attributes)}


def _attribute_order(keys: Iterable[str]) -> list[str]:
    stated = set(keys)
    return [key for key in (REF, *ATTRIBUTES) if key in stated]


def _sorted(by_code: Mapping[str, T]) -> list[T]:
    return [by_code[code] for code in sorted(by_code)]


def _said(**values: Any) -> Json:
    """Those of the values that say anything."""
    return {key: value for key, value in values.items() if value}


def _times(zone: ZoneInfo, **moments: datetime | None) -> Json:
    return {key: time_json(moment, zone) for key, moment in moments.items() if moment is not None}


def _when(condition: Condition) -> Json:
    return _said(when={path: _one_or_list(values) for path, values in condition.items()})


def _one_or_list(values: tuple[Value, ...]) -> Any:
    return number_json(values[0]) if len(values) == 1 else [number_json(one) for one in values]


def _end(end: Value | FromPlan) -> Any:
    return {"plan": end.path} if isinstance(end, FromPlan) else number_json(end)


def _path(term: Term) -> str:
    assert isinstance(term, FromPlan)
    return term.path
