"""Seeded scenarios of real size, as engine values: the same seed gives the same scenario.

A site's days are filled theatre by theatre with lists from 08:30 to 17:30.  Trays and boxes are
shared out in proportion to what the booked cases would use, so that `trays` alone says how scarce
sets are.  One tray in twenty lacks an instrument; some are loans to come, some fast to return,
some past their sterile date, some reserved.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from random import Random
from zoneinfo import ZoneInfo

from scheduling.coverage.catalogue import Catalogue
from scheduling.coverage.needs import Techniques, needs_of
from scheduling.coverage.values import (
    SUPPLEMENTARY,
    Case,
    Component,
    Configuration,
    Priority,
    Scenario,
    Site,
    Tray,
    Unit,
)
from tests.benchmarks import house

ZONE = ZoneInfo("Europe/London")
FIRST_DAY = date(2027, 3, 1)  # a Monday; the clocks go forward at the end of its month
OPENING = dict.fromkeys(range(5), (6 * 60, 22 * 60)) | {5: (8 * 60, 16 * 60)}
LIST_STARTS, LIST_ENDS, CHANGE_OVER = 8 * 60 + 30, 17 * 60 + 30, 25


@dataclass(frozen=True, slots=True)
class Size:
    """How much of everything.  `turnaround` and `quick` in minutes; `screws` of each length for
    a new cup."""

    cases: int
    theatres: int
    trays: int
    units: int
    turnaround: int = house.HOURS * 60
    quick: int = house.QUICK_HOURS * 60
    screws: int = house.SCREWS


FORTNIGHT = Size(cases=100, theatres=4, trays=75, units=3000)
"""One site's two weeks."""

ASKING_FORTNIGHT = replace(FORTNIGHT, screws=5)
"""With some 7,000 needs instead of 6,000."""

SCARCE_FORTNIGHT = replace(FORTNIGHT, trays=48, units=1500)


def many_cases(trays: int, turnaround: int = 14 * 60, theatres: int = 8) -> Size:
    """500 cases of one site; a turnaround over night ties each day to the next."""
    return Size(500, theatres, trays, units=6000, turnaround=turnaround, quick=turnaround // 2)


def site(seed: int, size: Size) -> Scenario:
    """One site at one moment: the Friday before, or in the middle of, its first days."""
    return _Draw(Random(seed), size).scenario()


def sites(seed: int, count: int, size: Size = FORTNIGHT) -> list[Scenario]:
    """Independent sites, one scenario each."""
    return [site(seed * 1000 + number, size) for number in range(count)]


class _Draw:
    def __init__(self, rng: Random, size: Size) -> None:
        self.rng = rng
        self.size = size
        self.implants = house.implants()
        self.instruments = house.instruments()
        self.techniques = house.techniques(size.screws)
        self.configurations = house.configurations(size.turnaround, size.quick)
        self.now = self.local(FIRST_DAY, 7 * 60 - 3 * 24 * 60)

    def chance(self, probability: float) -> bool:
        return self.rng.random() < probability

    @staticmethod
    def local(day: date, minute: int) -> datetime:
        midnight = datetime(day.year, day.month, day.day, tzinfo=ZONE)
        return (midnight + timedelta(minutes=minute)).astimezone(UTC)

    def scenario(self) -> Scenario:
        cases = list(self.cases())
        scenario = Scenario(
            site=Site(
                name="Ottermere General",
                timezone=ZONE.key,
                now=self.now,
                closed_dates=frozenset({date(2027, 3, 26), date(2027, 3, 29)}),
                opening=OPENING,
            ),
            instruments=self.instruments,
            implants=self.implants,
            configurations=self.configurations,
            trays={},
            shelf={},
            techniques=self.techniques,
            cases={case.ref: case for case in cases},
        )
        trays = {tray.code: tray for tray in self.trays(scenario)}
        shelf = {unit.code: unit for unit in self.shelf(scenario)}
        booked = {case.ref: self.reserving(case, trays) for case in cases}
        return replace(scenario, trays=trays, shelf=shelf, cases=booked)

    # -- cases --------------------------------------------------------------------------------

    def cases(self) -> Iterator[Case]:
        day, number = FIRST_DAY, 0
        while True:
            for theatre in range(self.size.theatres if day.weekday() < 5 else 0):
                minute = LIST_STARTS
                while True:
                    revision = self.chance(0.6)
                    minutes = self.rng.randrange(150, 260, 10) if revision else 100
                    if minute + minutes > LIST_ENDS:
                        break
                    if number == self.size.cases:
                        return
                    start = self.local(day, minute)
                    yield self.case(f"C{number:05}", revision, theatre, start, minutes)
                    number += 1
                    minute += minutes + CHANGE_OVER
            day += timedelta(days=1)

    def case(self, ref: str, revision: bool, theatre: int, start: datetime, minutes: int) -> Case:
        pick = self.rng.choice
        line = self.rng.choices(house.LINES, (4, 3, 2, 1))[0]
        inner, shell = pick(house.INNER_DIAMETERS), self.middling(house.SHELLS)
        new_cup = not revision or self.chance(0.5)
        stem: dict[str, str | int] = {"offset": pick(house.OFFSETS)}
        if revision:
            sizes, length = house.REVISION_SIZES, pick(house.LENGTHS)
            stem |= {"system": f"R{line}", "size": self.middling(sizes), "length": length}
        else:
            stem |= {"system": f"P{line}", "size": self.middling(house.PRIMARY_SIZES)}
        head: dict[str, str | int] = {"diameter": inner, "neck_length": pick(house.NECK_LENGTHS)}
        components = {
            "stem": Component(stem),
            "head": Component({**head, "material": pick(house.MATERIALS)}),
            "liner": Component({"group": house.group_of(shell), "inner_diameter": inner}),
        }
        if new_cup:
            components["shell"] = Component({"diameter": shell})
        approach = "extended osteotomy" if revision and self.chance(0.35) else "posterior"
        return Case(
            ref,
            f"{'REVISION' if revision else 'PRIMARY'}-{line}",
            start,
            minutes,
            priority=self.rng.choices(list(Priority), (1, 3, 6, 90))[0],
            theatre=f"Theatre {theatre + 1}",
            components=components,
            facts={"approach": approach, "cup": "new" if new_cup else "retained"},
        )

    def middling(self, sizes: range) -> int:
        """Middle sizes are commoner than those at the ends."""
        place = round(self.rng.gauss((len(sizes) - 1) / 2, len(sizes) / 5))
        return sizes[min(max(place, 0), len(sizes) - 1)]

    # -- trays --------------------------------------------------------------------------------

    def trays(self, scenario: Scenario) -> Iterator[Tray]:
        techniques = Techniques(Catalogue(scenario))
        wanted: Counter[str] = Counter()
        for case in scenario.cases.values():
            for asked in needs_of(case, scenario.techniques[case.technique], techniques).sets:
                for option in asked.options:
                    wanted.update({code: 12 // len(asked.options) for code in option})
        packs = [c.code for c in self.configurations.values() if c.kind == SUPPLEMENTARY]
        wanted.update(dict.fromkeys(self.rng.sample(packs, len(packs) // 2), 1))
        for code, count in _shared_out(wanted, self.size.trays).items():
            for number in range(count):
                yield self.tray(f"{code}/{number + 1}", self.configurations[code])

    def tray(self, code: str, configuration: Configuration) -> Tray:
        tray = Tray(code, configuration.code, ready=self.now)
        if self.chance(0.02):
            return replace(tray, ready=None, withdrawn=True, note="repair")
        if self.chance(0.05):
            arrives = self.local(FIRST_DAY + timedelta(days=self.rng.randint(-1, 6)), 8 * 60)
            return replace(tray, ready=None, arrives=arrives)
        if self.chance(0.1):
            later = self.local(FIRST_DAY, self.rng.randrange(6 * 60, 14 * 60, 30))
            tray = replace(tray, ready=later)
        elif self.chance(0.1):
            last = FIRST_DAY + timedelta(days=self.rng.randint(0, 9))
            tray = replace(tray, sterile_until=self.local(last, 24 * 60))
        if configuration.kind != SUPPLEMENTARY and self.chance(0.05):
            tray = replace(tray, missing={self.rng.choice(sorted(configuration.contents)): 1})
        return tray

    def reserving(self, case: Case, trays: Mapping[str, Tray]) -> Case:
        """One case in thirty has a tray reserved: one that its first set might use."""
        if not self.chance(1 / 30):
            return case
        options = self.techniques[case.technique].sets[0].options
        kinds = {kind for option in options for kind in option}
        codes = [tray.code for tray in trays.values() if tray.configuration in kinds]
        return replace(case, reserved_trays=(self.rng.choice(codes),)) if codes else case

    # -- the shelf ----------------------------------------------------------------------------

    def shelf(self, scenario: Scenario) -> Iterator[Unit]:
        techniques = Techniques(Catalogue(scenario))
        wanted = Counter(dict.fromkeys(self.implants, 1))
        for case in scenario.cases.values():
            needs = needs_of(case, scenario.techniques[case.technique], techniques)
            for quantities in needs.implants.values():
                wanted.update(quantities)
        for ref, count in _shared_out(wanted, self.size.units).items():
            for number in range(count):
                yield self.unit(f"{ref}/{number + 1}", ref)

    def unit(self, code: str, ref: str) -> Unit:
        expiry = FIRST_DAY + timedelta(days=self.rng.randint(10, 1500))
        if self.chance(0.02):
            expiry = FIRST_DAY + timedelta(days=self.rng.randint(0, 13))
        unit = Unit(code, ref, expiry)
        if self.chance(0.01):
            return replace(unit, hold="quarantined")
        if self.chance(0.03):
            arrives = self.local(FIRST_DAY + timedelta(days=self.rng.randint(-1, 10)), 12 * 60)
            return replace(unit, arrives=arrives)
        return unit


def _shared_out(wanted: Mapping[str, int], total: int) -> dict[str, int]:
    """`total` things as they are wanted, at least one of each, by largest remainder."""
    left = total - len(wanted)
    assert left >= 0, f"{total} are too few for {len(wanted)} kinds"
    all_wanted = sum(wanted.values())
    shares = {code: left * number / all_wanted for code, number in wanted.items()}
    counts = {code: 1 + int(share) for code, share in shares.items()}
    by_rest = sorted(shares, key=lambda code: (int(shares[code]) - shares[code], code))
    for code in by_rest[: total - sum(counts.values())]:
        counts[code] += 1
    return counts
