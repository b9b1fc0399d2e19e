"""Small random scenarios in the file format: `scenario(seed)` is the same for the same seed.

Everything the rules speak of turns up: priorities, tight turnarounds, fast track, loans due and
overdue, withdrawn trays, missing instruments, dates of sterility, alternatives of sets,
supplementary packs, reservations that fit, clash or make no sense, use-by dates on the edge, holds,
deliveries, sharing, ladders, conditions, faults, checks and confirmations.  Each scenario is small
enough for an exhaustive search.  No case is out of theatre before `now`, and no time is one that a
clock change skips.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from math import prod
from random import Random

from tests.coverage_engine.random_catalogue import Catalogue, Entry

MOST_ARRANGEMENTS = 40_000
"""The product over the cases of the bundles each might be given, before any clash is seen."""

FIRST_DAYS = (
    "2026-03-02",
    "2026-03-23",
    "2026-03-07",  # New York changes its clock on the Sunday
    "2026-03-28",  # London changes its clock on the Sunday
    "2026-10-24",  # and back on this one
    "2026-12-28",
    "2028-02-28",  # a leap day on the Tuesday
)
ZONES = ("Europe/London", "Europe/London", "UTC", "America/New_York", "Asia/Kolkata")
HOURS = (
    {day: ["06:00", "22:00"] for day in ("mon", "tue", "wed", "thu", "fri")}
    | {"sat": ["08:00", "16:00"]},
    {day: ["07:00", "17:30"] for day in ("mon", "tue", "wed", "thu", "fri")},
    {day: ["00:00", "24:00"] for day in ("mon", "tue", "wed", "thu", "fri", "sat", "sun")},
    {day: ["05:00", "24:00"] for day in ("mon", "wed", "fri", "sat", "sun")},
    {day: ["01:30", "13:00"] for day in ("mon", "tue", "thu", "sun")},
    {},
)
CLOCK_CHANGES = ("2026-03-28", "2026-10-24")
AT_CLOCK_CHANGE = 4
"""Opens at an hour that is skipped in spring and comes twice in autumn."""


def scenario(seed: int) -> Entry:
    """One scenario; tries are drawn from the same stream until one is small enough."""
    rng = Random(seed)
    while True:
        drawn = _Draw(rng)
        drawn.draw()
        if drawn.size() <= MOST_ARRANGEMENTS:
            _with_a_supplier(drawn.entry, drawn.first_day, Random(f"supplier {seed}"))
            return drawn.entry


def _with_a_supplier(entry: Entry, first_day: date, rng: Random) -> None:
    """Some items come from one who takes orders earlier or later than the house, or on fewer
    days."""
    supplier: Entry = {"code": "NORTH"}
    if rng.random() < 0.7:
        supplier["order_cut_off"] = rng.choice(("08:00", "11:00", "19:00"))
    if rng.random() < 0.5:
        supplier["closed_dates"] = [(first_day + timedelta(days=rng.randint(0, 5))).isoformat()]
    theirs = [item for item in entry["implants"] if rng.random() < 0.3]
    for item in theirs:
        item["supplier"] = "NORTH"
    if theirs:
        entry["suppliers"] = [supplier]


class _Draw(Catalogue):
    def draw(self) -> None:
        self.tight = self.chance(0.25)
        """Many cases on few days that want the same trays."""
        self.first_day = date.fromisoformat(self.rng.choice(FIRST_DAYS))
        self.entry["site"] = self.site()
        self.entry["instruments"] = self.instruments()
        self.entry["implants"] = self.implants()
        self.entry["configurations"] = self.configurations()
        self.entry["techniques"] = [self.technique(f"T{n}") for n in range(self.rng.randint(1, 2))]
        self.entry["cases"] = self.cases()
        self.entry["trays"] = self.trays()
        self.entry["shelf"] = self.shelf()
        self.reservations()
        for key in ("instruments", "implants", "configurations", "trays", "shelf", "cases"):
            self.rng.shuffle(self.entry[key])

    def size(self) -> int:
        """An upper bound on the joint arrangements."""
        counts: dict[str, int] = {}
        for tray in self.entry["trays"]:
            counts[tray["configuration"]] = counts.get(tray["configuration"], 0) + 1
        packs = sum(n for code, n in counts.items() if code.startswith("SP-"))
        techniques = {t["code"]: t for t in self.entry["techniques"]}
        return prod(
            2**packs
            * prod(
                1 + sum(prod(counts.get(kind, 0) for kind in o) for o in asked["options"])
                for asked in techniques[case["technique"]]["sets"]
            )
            for case in self.entry["cases"]
        )

    # -- the house ------------------------------------------------------------------------------

    def moment(self, least_hours: float, most_hours: float, step: int = 30) -> str:
        """A local time so many hours after the first day's midnight."""
        steps = self.rng.randint(round(least_hours * 60 / step), round(most_hours * 60 / step))
        midnight = datetime.combine(self.first_day, datetime.min.time())
        moment = midnight + timedelta(minutes=steps * step)
        if moment.weekday() == 6 and 1 <= moment.hour <= 3:  # clocks change in these hours
            moment = moment.replace(hour=4)
        return moment.isoformat(timespec="minutes")

    def site(self) -> Entry:
        site: Entry = {
            "name": "Ottermere General Hospital",
            "timezone": self.rng.choice(ZONES),
            "now": self.moment(0, 9),
            "sterile_services": self.rng.choice(HOURS if self.chance(0.5) else HOURS[:1]),
        }
        for key, values in (
            ("needed_before_minutes", (0, 30, 90)),
            ("out_of_theatre_minutes", (0, 30)),
            ("shelf_return_minutes", (0, 120, 240)),
            ("loan_check_in_minutes", (0, 60)),
            ("order_cut_off", ("10:00", "12:00", "14:30")),
            ("delivery_time", ("07:00", "16:00")),
        ):
            if self.chance(0.3):
                site[key] = self.rng.choice(values)
        if site["timezone"] == ZONES[0] and self.first_day.isoformat() in CLOCK_CHANGES:
            site["sterile_services"] = HOURS[AT_CLOCK_CHANGE]
        if self.chance(0.25):
            days = self.rng.sample(range(8), self.rng.randint(1, 2))
            site["closed_dates"] = [
                (self.first_day + timedelta(days=day)).isoformat() for day in sorted(days)
            ]
        return site

    # -- the cases ------------------------------------------------------------------------------

    def cases(self) -> list[Entry]:
        count = self.rng.choice((3, 4) if self.tight else (1, 2, 2, 3, 3, 4))
        last_day = self.rng.choice((0, 1, 1) if self.tight else (0, 0, 1, 2, 7))
        return [self.case(f"C{n}", last_day) for n in range(count)]

    def case(self, ref: str, last_day: int) -> Entry:
        day = self.rng.randint(0, last_day)
        technique = self.rng.choice(self.entry["techniques"])
        case: Entry = {
            "ref": ref,
            "technique": technique["code"],
            "start": self.moment(24 * day + 9, 24 * day + 18),
            "minutes": self.rng.choice((30, 60, 120, 180, 180, 480)),
            "components": {},
            "facts": {},
        }
        if self.chance(0.3):
            case["priority"] = self.rng.choice(("immediate", "urgent", "expedited", "elective"))
        if self.calm or self.chance(0.85):
            case["components"]["stem"] = self.stem()
        if self.calm or self.chance(0.7):
            sizes = [i["diameter"] for i in self.entry["implants"] if i["role"] == "head"]
            case["components"]["head"] = {"diameter": self.rng.choice(sizes)}
        if self.chance(0.2):
            case["components"]["cable"] = {"quantity": self.rng.randint(1, 2)}
        for fact, values in (
            ("approach", ("posterior", "osteotomy")),
            ("cup", ("new", "retained")),
            ("reamed_mm", (10, 11, 12.5, 20)),
            ("liner_mm", (28, 32, 36)),
            ("osteotomy_mm", (150, 203)),  # 203 is just long enough for a stem of 225
            ("bone_mm", (12.25, 30)),
        ):
            if self.chance(0.97 if self.calm else 0.8):
                case["facts"][fact] = self.rng.choice(values)
        confirmed = [c["code"] for c in technique["confirmations"] if self.chance(0.6)]
        if confirmed:
            case["confirmed"] = confirmed
        return case

    def stem(self) -> Entry:
        item = self.rng.choice([i for i in self.entry["implants"] if i["role"] == "stem"])
        stem = {"size": item["size"], "length": item["length"]}
        if not self.calm and self.chance(0.1):
            del stem["length"]  # ambiguous, where there are two lengths
        if not self.calm and self.chance(0.1):
            stem["size"] = 99
        return stem

    # -- what is in the house -------------------------------------------------------------------

    def trays(self) -> list[Entry]:
        kinds = [c["code"] for c in self.entry["configurations"]]
        wanted = [
            kind
            for technique in self.entry["techniques"]
            for asked in technique["sets"]
            for option in asked["options"]
            for kind in option
        ]
        some: list[Entry] = []
        least = 4 if self.tight else 2 if self.calm else 0
        for number in range(self.rng.randint(least, 8)):
            of_use = wanted and (self.tight or self.chance(0.8))
            kind = self.rng.choice(wanted if of_use else kinds)
            some.append(self.tray(f"{kind}/{number}", kind))
        packs = [kind for kind in kinds if kind.startswith("SP-")]
        for number in range(self.rng.choice((0, 0, 1, 2, 3))):
            kind = self.rng.choice(packs)
            some.append(self.tray(f"{kind}/P{number}", kind))
        return some

    def tray(self, code: str, kind: str) -> Entry:
        tray: Entry = {"code": code, "configuration": kind}
        contents = next(c for c in self.entry["configurations"] if c["code"] == kind)["contents"]
        fate = self.rng.random()
        if fate < 0.05:
            tray["withdrawn"] = True
        elif fate < 0.17:
            tray["arrives"] = self.moment(0, 30)
        elif fate < 0.4:
            tray["ready"] = self.moment(0, 48)
        else:
            tray["ready"] = self.moment(-48, 0)
        if self.chance(0.25):
            tray["sterile_until"] = self.moment(0, 72)
        if self.chance(0.3):
            tray["missing"] = {
                ref: self.rng.randint(1, contents[ref]) for ref in self.some(contents, 1)[:2]
            }
        return tray

    def shelf(self) -> list[Entry]:
        some: list[Entry] = []
        plenty = self.chance(0.6)
        for item in self.entry["implants"]:
            for _ in range(self.rng.choice((2, 2, 3, 4, 5) if plenty else (0, 0, 1, 1, 2))):
                some.append(self.unit(f"U{len(some):02}", item["ref"]))
        return some

    def unit(self, code: str, implant: str) -> Entry:
        unit: Entry = {"unit": code, "implant": implant}
        kind = self.rng.random()
        if kind < 0.6:
            unit["expiry"] = "2031-12-31"
        elif kind < 0.7:
            unit["expiry"] = None
        elif kind < 0.72:
            unit["expiry"] = self.first_day.isoformat()[:7]
        else:
            unit["expiry"] = (self.first_day + timedelta(days=self.rng.randint(-1, 8))).isoformat()
        if self.chance(0.2):
            unit["arrives"] = self.moment(-6, 60)
        if self.chance(0.07):
            unit["hold"] = self.rng.choice(("quarantined", "recalled"))
        return unit

    def reservations(self) -> None:
        for case in self.entry["cases"]:
            for key, of, name in (
                ("reserved_trays", "trays", "code"),
                ("reserved_units", "shelf", "unit"),
            ):
                codes = [entry[name] for entry in self.entry[of]]
                if codes and self.chance(0.3):
                    case[key] = self.rng.sample(codes, min(len(codes), self.rng.randint(1, 3)))
