"""Random catalogues and techniques, for the random scenarios."""

from __future__ import annotations

from random import Random
from typing import Any

Entry = dict[str, Any]

SIZES = (10, 11, 12, 14)
HEADS = (28, 32, 36)
REAMERS = (10, 11, 12, 12.5, 14)
PURPOSES = ("femoral preparation", "extraction")
CHECKS: list[Entry] = [
    {"code": "tapers differ", "kind": "equal", "left": "head.taper", "right": "stem.taper"},
    {"code": "liner differs", "kind": "equal", "left": "head.diameter", "right": "liner_mm"},
    {
        "code": "stem too short",
        "kind": "at least",
        "left": ["stem.length", "stem.seat_offset"],
        "right": ["osteotomy_mm", {"times": 2, "of": "bone_mm"}, 10],
    },
]


class Catalogue:
    """Draws what a house has in its lists.

    `calm`: few faults and questions, so that the stock decides.
    """

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.calm = self.chance(0.7)
        self.entry: Entry = {}

    def chance(self, probability: float) -> bool:
        return self.rng.random() < probability

    def some(self, things: Any, least: int = 0) -> list[Any]:
        things = list(things)
        return sorted(self.rng.sample(things, self.rng.randint(least, len(things))), key=str)

    def instruments(self) -> list[Entry]:
        some: list[Entry] = [
            {"ref": f"REAM-{size}", "role": "reamer", "system": "A", "diameter": size}
            for size in self.some(REAMERS, least=2)
        ]
        some.append({"ref": "HNDL", "role": "broach handle", "system": "A"})
        if self.chance(0.5):
            some.append({"ref": "EXTR", "role": "stem extractor"})
        if self.chance(0.3):  # lacks the attribute that the ladders ask for
            some.append({"ref": "REAM-X", "role": "reamer", "system": "A"})
        return some

    def implants(self) -> list[Entry]:
        some: list[Entry] = []
        lengths = (190, 225) if self.chance(0.3) else (225,)
        for size in self.some(SIZES, least=2):
            for length in lengths:
                stem = {"ref": f"STEM-{size}-{length}", "role": "stem", "system": "A"}
                some.append(
                    stem
                    | {"size": size, "length": length, "distal_diameter": size, "taper": "T1"}
                    | {"seat_offset": self.rng.choice((0, 12.5))}
                )
        for diameter in self.some(HEADS, least=1):
            taper = "T2" if self.chance(0.1) else "T1"
            some.append(
                {"ref": f"HEAD-{diameter}", "role": "head", "diameter": diameter, "taper": taper}
            )
        some.append({"ref": "CABLE", "role": "cable"})
        for item in some:
            if self.chance(0.6):
                item["lead_days"] = self.rng.randint(0, 2)
            if self.chance(0.5):
                item["replaced_on_use"] = True
            if self.chance(0.05):
                item.pop("taper", None)
        return some

    def configurations(self) -> list[Entry]:
        refs = [item["ref"] for item in self.entry["instruments"]]
        some: list[Entry] = []
        for code, kind in (
            ("STAND", "stand-alone"),
            ("BASE", "base"),
            ("ADD", "add-on"),
            ("EXTRACT", "extraction"),
        ):
            contents = {ref: self.rng.choice((1, 1, 1, 2)) for ref in self.some(refs, least=1)}
            if code == "STAND" and self.chance(0.7):
                contents = dict.fromkeys(refs, 1)
            if code == "ADD" and self.calm:  # what the base has not
                contents |= {ref: 1 for ref in refs if ref not in some[1]["contents"]}
            some.append({"code": code, "kind": kind, "contents": contents})
        for ref in self.rng.sample(refs, 2):
            contents = {ref: self.rng.choice((1, 1, 2))}
            some.append({"code": f"SP-{ref}", "kind": "supplementary", "contents": contents})
        for configuration in some:
            turnaround = self.rng.choice((60, 240, 360, 390, 480, 600))
            configuration["turnaround_minutes"] = turnaround
            if self.chance(0.6):
                fast = self.rng.choice((1, 30, 120, 270, turnaround))
                configuration["fast_track_minutes"] = min(fast, turnaround)
        return some

    # -- the technique --------------------------------------------------------------------------

    def when(self) -> Entry:
        if self.chance(0.9 if self.calm else 0.7):
            return {}
        conditions: list[Entry] = [
            {"approach": "osteotomy"},
            {"approach": ["posterior", "osteotomy"]},
            {"cup": "retained"},
            {"stem.taper": "T1"},
            {"approach": "posterior", "cup": ["new", "retained"]},
            {"head.diameter": [32, 36]},
        ]
        return {"when": self.rng.choice(conditions)}

    def technique(self, code: str) -> Entry:
        options = [["STAND"], ["BASE", "ADD"]]
        self.rng.shuffle(options)
        if self.chance(0.3):
            options = options[:1]
        sets: list[Entry] = []
        if self.chance(0.85):
            sets.append({"purpose": PURPOSES[0], "options": options, **self.when()})
        if self.chance(0.3):
            more = [["EXTRACT"]] if self.chance(0.7) else [["EXTRACT"], ["BASE"]]
            sets.append({"purpose": PURPOSES[1], "options": more, **self.when()})
        return {
            "code": code,
            "sets": sets,
            "rules": [rule | self.when() for rule in self.rules()],
            "checks": [check | self.when() for check in self.checks()],
            "confirmations": [
                {"code": code, **self.when()}
                for code in ("cup inspected", "films seen")
                if self.chance(0.1)
            ],
        }

    def checks(self) -> list[Entry]:
        return [] if self.calm and self.chance(0.8) else self.some(CHECKS)[:2]

    def ladder(self, path: str) -> Entry:
        ladder: Entry = {}
        ends = [{"plan": path}, self.rng.choice((9, 10, 11, 13, 14, 15))]
        if self.chance(0.5):
            ladder["at"] = {"plan": path}
        else:
            if self.chance(0.6):
                ladder["from"] = self.rng.choice(ends)
            if self.chance(0.6):
                ladder["to"] = self.rng.choice(ends)
        for key in ("below", "above"):
            if self.chance(0.5):
                ladder[key] = self.rng.randint(0, 2)
        return {"ladder": ladder}

    def rules(self) -> list[Entry]:
        system = {"system": {"plan": "stem.system"}} if self.chance(0.7) else {}
        drawn: list[Entry] = []
        for _ in range(self.rng.randint(0, 3)):
            select: Entry = dict(system)
            if self.chance(0.8):
                select["diameter"] = self.rng.choice(
                    (
                        self.ladder("stem.distal_diameter"),
                        {"plan": "stem.distal_diameter"},
                        [10, 12.5],
                        self.ladder("reamed_mm"),
                    )[: 1 if self.calm else 4]
                )
            drawn.append({"role": "reamer", "need": self.need("instrument"), "select": select})
        if self.chance(0.5):
            drawn.append({"role": "broach handle", "need": self.need("instrument")})
        if self.chance(0.2):
            drawn.append({"role": "stem extractor", "need": self.need("instrument")})
        for _ in range(self.rng.randint(0, 2)):
            select = dict(system) | {"size": self.ladder("stem.size")}
            if self.chance(0.4):
                select["length"] = self.rng.choice(
                    ({"plan": "stem.length"}, 225, self.ladder("stem.length"))
                )
            drawn.append({"role": "stem", "need": self.need("implant"), "select": select})
        for _ in range(self.rng.randint(0, 2)):
            head: Entry = self.rng.choice(
                (
                    {"diameter": {"plan": "head.diameter"}},
                    {"ref": {"plan": "head.ref"}},
                    {"taper": {"plan": "stem.taper"}},
                    {"diameter": {"plan": "liner_mm"}},
                    {"group": "G1"},
                )[: 3 if self.calm else 5]
            )
            drawn.append({"role": "head", "need": self.need("implant"), "select": head})
        if self.chance(0.4):
            drawn.append({"role": "cable", "need": self.need("implant")})
        for rule in drawn:
            if self.chance(0.2):
                rule["quantity"] = self.rng.choice((1, 2, 2, 3))
        return drawn

    def need(self, kind: str) -> str:
        planned = kind == "instrument" or not self.calm or self.chance(0.1)
        return self.rng.choice(("contingency", "contingency", "spare", *("planned",) * planned))
