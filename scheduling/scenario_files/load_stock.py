from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from deploy.kit.models import Site
from implants.models import Implant, Supplier, SupplierClosedDate, Unit
from scheduling.coverage import values
from scheduling.coverage.scenario_write import attributes_json, suppliers_of
from scheduling.coverage.values import Scenario
from trays.assets import assets_of
from trays.models import (
    Configuration,
    ConfigurationVersion,
    Content,
    Instrument,
    MissingLine,
    Tray,
)
from trays.models.tray import Ownership
from trays.stages import Stage


@dataclass(frozen=True, slots=True)
class Catalogue:
    """The saved rows by reference or code; a version is the one and only of its configuration."""

    instruments: Mapping[str, Instrument]
    implants: Mapping[str, Implant]
    versions: Mapping[str, ConfigurationVersion]


def load_catalogue(site: Site, scenario: Scenario) -> Catalogue:
    instruments = Instrument.objects.bulk_create(
        Instrument(
            site=site,
            ref=one.ref,
            role=one.role,
            name=one.name,
            attributes=attributes_json(one.attributes),
        )
        for one in scenario.instruments.values()
    )
    suppliers = _load_suppliers(site, scenario)
    implants = Implant.objects.bulk_create(
        Implant(
            site=site,
            ref=one.ref,
            role=one.role,
            name=one.name,
            attributes=attributes_json(one.attributes),
            gtin=one.gtin,
            lead_days=one.lead_days,
            replaced_on_use=one.replaced_on_use,
            supplier=suppliers[one.supplier.code] if one.supplier else None,
        )
        for one in scenario.implants.values()
    )
    by_ref = {one.ref: one for one in instruments}
    return Catalogue(
        instruments=by_ref,
        implants={one.ref: one for one in implants},
        versions=_load_configurations(site, scenario, by_ref),
    )


def _load_suppliers(site: Site, scenario: Scenario) -> dict[str, Supplier]:
    """By code; a scenario knows no other name of theirs."""
    stated = suppliers_of(scenario)
    rows = Supplier.objects.bulk_create(
        Supplier(site=site, code=one.code, name=one.code, cut_off_minute=one.order_cut_off_minute)
        for one in stated
    )
    by_code = {row.code: row for row in rows}
    SupplierClosedDate.objects.bulk_create(
        SupplierClosedDate(supplier=by_code[one.code], day=day)
        for one in stated
        for day in sorted(one.closed_dates)
    )
    return by_code


def _load_configurations(
    site: Site, scenario: Scenario, instruments: Mapping[str, Instrument]
) -> dict[str, ConfigurationVersion]:
    configurations = Configuration.objects.bulk_create(
        Configuration(
            site=site,
            code=one.code,
            name=one.name,
            kind=one.kind,
            turnaround_minutes=one.turnaround_minutes,
            fast_track_minutes=one.fast_track_minutes,
        )
        for one in scenario.configurations.values()
    )
    versions = ConfigurationVersion.objects.bulk_create(
        ConfigurationVersion(configuration=one, number=1, made_at=scenario.site.now)
        for one in configurations
    )
    by_code = {version.configuration.code: version for version in versions}
    Content.objects.bulk_create(
        Content(
            version=by_code[one.code],
            instrument=instruments[ref],
            quantity=quantity,
            position=position,
        )
        for one in scenario.configurations.values()
        for position, (ref, quantity) in enumerate(one.contents.items())
    )
    return by_code


def load_trays(site: Site, scenario: Scenario, catalogue: Catalogue) -> dict[str, Tray]:
    """The trays, not entered yet: what the cases hold is promised first."""
    assets = assets_of(site.asset_prefix, scenario.trays)
    trays = Tray.objects.bulk_create(
        Tray(
            site=site,
            code=one.code,
            asset=assets[one.code],
            configuration=catalogue.versions[one.configuration].configuration,
            version=catalogue.versions[one.configuration],
            location=one.location,
            owner=Ownership.LOAN if one.arrives else Ownership.OWNED,
            note=one.note,
        )
        for one in scenario.trays.values()
    )
    by_code = {tray.code: tray for tray in trays}
    MissingLine.objects.bulk_create(
        MissingLine(tray=by_code[one.code], instrument=catalogue.instruments[ref], quantity=number)
        for one in scenario.trays.values()
        for ref, number in one.missing.items()
    )
    return by_code


def stage_of(tray: values.Tray, now: datetime) -> Stage:
    """The stage that says the same: a file does not know how far a tray's turnaround is."""
    if tray.withdrawn:
        return Stage.QUARANTINE
    if tray.arrives:
        return Stage.WITH_SUPPLIER
    return Stage.STERILISING if tray.ready and tray.ready > now else Stage.STERILE_STORE


def load_units(site: Site, scenario: Scenario, catalogue: Catalogue) -> dict[str, Unit]:
    """The boxes, not entered yet: what the cases hold is promised first."""
    units = Unit.objects.bulk_create(
        Unit(
            site=site,
            code=one.code,
            implant=catalogue.implants[one.implant],
            lot=one.lot,
            serial=one.serial,
            expiry=one.expiry,
            does_not_expire=one.expiry is None,
            location=one.location,
            owner=one.owner,
        )
        for one in scenario.shelf.values()
    )
    return {unit.code: unit for unit in units}
