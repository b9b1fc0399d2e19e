"""Load a scenario into an empty database: everything in one transaction, or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from django.db import transaction
from django.utils import timezone
from django.utils.text import slugify

from deploy.kit.models import Site
from scheduling.coverage.scenario_json import ScenarioFaults
from scheduling.coverage.scenario_read_site import INTERVALS
from scheduling.coverage.values import Scenario
from scheduling.models import ClosedDate, HouseSettings, OpeningHours
from scheduling.models.house import CAPACITY_FIELDS
from scheduling.scenario_files.keepable import with_kept_reservations
from scheduling.scenario_files.load_cases import load_cases
from scheduling.scenario_files.load_ledgers import load_ledgers
from scheduling.scenario_files.load_stock import load_catalogue, load_trays, load_units
from scheduling.scenario_files.load_techniques import load_techniques
from scheduling.scenario_files.loadable import load_faults


class Clock(StrEnum):
    """How the loaded site's clock goes: standing at the scenario's `now`, running on from it,
    or the real one."""

    STANDS = "stands"
    RUNS = "runs"
    REAL = "real"


class NotEmpty(Exception):
    """The database has a site already, so no scenario is loaded into it."""

    def __init__(self, site: str) -> None:
        super().__init__(f"the database is not empty: it holds {site}")
        self.site = site


@dataclass(frozen=True, slots=True)
class Loaded:
    """The new site, and a line for each reservation that could not be kept (`keepable`)."""

    site: Site
    left_out: list[str]


def load_scenario(scenario: Scenario, *, site_code: str = "", clock: Clock = Clock.STANDS) -> Site:
    """`load` where nobody asks what was left out."""
    return load(scenario, site_code=site_code, clock=clock).site


def load(scenario: Scenario, *, site_code: str = "", clock: Clock = Clock.STANDS) -> Loaded:
    """The scenario as the first site of the database.  A fixed number of queries per table.

    `site_code` is made from the name where it is left out.  Nobody acts: what the file states
    is recorded as of its `now`, without a person.  NotEmpty; ScenarioFaults where the database
    refuses what the format allows.  Nothing is loaded then.
    """
    faults = load_faults(scenario)
    if faults:
        raise ScenarioFaults(faults)
    scenario, left_out = with_kept_reservations(scenario)
    with transaction.atomic():
        # Everything hangs on a site, so that a database without one holds nothing.
        there = Site.objects.order_by("pk").first()
        if there is not None:
            raise NotEmpty(there.name or there.code)
        site = _load_site(scenario, site_code, clock)
        catalogue = load_catalogue(site, scenario)
        trays = load_trays(site, scenario, catalogue)
        units = load_units(site, scenario, catalogue)
        techniques = load_techniques(site, scenario)
        load_cases(site, scenario, techniques, trays, units)
        load_ledgers(site, scenario, trays, units)
    return Loaded(site, left_out)


def _load_site(scenario: Scenario, code: str, clock: Clock) -> Site:
    stated = scenario.site
    site = Site.objects.create(
        code=code or slugify(stated.name)[:50] or "site",
        name=stated.name,
        timezone=stated.timezone,
        clock_set_to=None if clock is Clock.REAL else stated.now,
        clock_started=timezone.now() if clock is Clock.RUNS else None,
    )
    HouseSettings.objects.create(
        site=site,
        order_cut_off_minute=stated.order_cut_off_minute,
        delivery_minute=stated.delivery_minute,
        **{key: getattr(stated, key) for key in INTERVALS},
        **{
            f"{CAPACITY_FIELDS[stage.name]}_{figure}": getattr(stage, figure)
            for stage in stated.department
            for figure in ("places", "minutes")
        },
    )
    OpeningHours.objects.bulk_create(
        OpeningHours(site=site, weekday=weekday, opens_minute=opens, closes_minute=closes)
        for weekday, (opens, closes) in sorted(stated.opening.items())
    )
    ClosedDate.objects.bulk_create(
        ClosedDate(site=site, day=day) for day in sorted(stated.closed_dates)
    )
    return site
