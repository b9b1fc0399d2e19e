"""An invented house for the benchmarks: catalogue, count sheets and techniques, without chance.

Each stem line has a primary and a revision system.  A primary is done from the base set; a
revision from the stand-alone set or from the base set with the add-on set beside it.  Cups,
extraction and cables come from sets that are shared between the lines, in two makes each.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from deploy.kit.attributes import Value
from scheduling.coverage.values import (
    SUPPLEMENTARY,
    Check,
    Configuration,
    FromPlan,
    Implant,
    Instrument,
    Ladder,
    Need,
    OneOf,
    Rule,
    Selection,
    SetAsked,
    Technique,
)

LINES = ("A", "B", "C", "D")
OFFSETS = ("standard", "high")
PRIMARY_SIZES = range(1, 12)
REVISION_SIZES = range(12, 23)
LENGTHS = (155, 190, 225)
SHELLS = range(46, 70, 2)
INNER_DIAMETERS = (28, 32, 36)
NECK_LENGTHS = (-4, 0, 4, 8)
MATERIALS = ("ceramic", "metal")
SCREW_LENGTHS = range(20, 45, 5)
SCREWS = 2

HOURS, QUICK_HOURS = 5, 3
"""Turnaround of a set where the benchmark does not say otherwise."""


def group_of(shell: int) -> str:
    """Liners come in groups of shell diameters."""
    return "small" if shell < 52 else "medium" if shell < 60 else "large"


def implants() -> dict[str, Implant]:
    return {implant.ref: implant for implant in _implants()}


def _implants() -> Iterator[Implant]:
    def made(ref: str, role: str, lead_days: int, **attributes: Value) -> Implant:
        return Implant(
            ref,
            role,
            attributes=attributes,
            lead_days=lead_days,
            replaced_on_use=role in ("head", "screw", "liner"),
        )

    for line in LINES:
        for offset in OFFSETS:
            code = offset[0].upper()
            for size in PRIMARY_SIZES:
                ref = f"P{line}-{size}{code}"
                yield made(ref, "stem", 2, system=f"P{line}", size=size, offset=offset)
            for size in REVISION_SIZES:
                for length in LENGTHS:
                    ref = f"R{line}-{size}{code}-{length}"
                    system = f"R{line}"
                    yield made(
                        ref, "stem", 3, system=system, size=size, offset=offset, length=length
                    )
    for inner in INNER_DIAMETERS:
        for material in MATERIALS:
            for neck in NECK_LENGTHS:
                ref = f"HEAD-{inner}{material[0].upper()}{neck:+d}"
                yield made(ref, "head", 1, diameter=inner, material=material, neck_length=neck)
        for group in ("small", "medium", "large"):
            ref = f"LINER-{group[0].upper()}{inner}"
            yield made(ref, "liner", 1, group=group, inner_diameter=inner)
    for diameter in SHELLS:
        ref = f"SHELL-{diameter}"
        yield made(ref, "shell", 2, diameter=diameter, group=group_of(diameter))
    for length in SCREW_LENGTHS:
        yield made(f"SCREW-{length}", "screw", 1, length=length)
    yield made("CABLE", "cable", 2)


def instruments() -> dict[str, Instrument]:
    return {instrument.ref: instrument for instrument in _instruments()}


def _instruments() -> Iterator[Instrument]:
    for line in LINES:
        for size in PRIMARY_SIZES:
            yield Instrument(
                f"BROACH-{line}{size}", "broach", attributes={"system": f"P{line}", "size": size}
            )
        for size in REVISION_SIZES:
            attributes: dict[str, Value] = {"system": f"R{line}", "size": size}
            yield Instrument(f"REAMER-{line}{size}", "reamer", attributes=attributes)
            yield Instrument(f"TRIAL-{line}{size}", "trial stem", attributes=attributes)
        for offset in OFFSETS:
            yield Instrument(
                f"NECK-{line}{offset[0].upper()}",
                "trial neck",
                attributes={"group": line, "offset": offset},
            )
        yield Instrument(f"HANDLE-{line}", "handle", attributes={"group": line})
    for diameter in SHELLS:
        yield Instrument(f"CUP-REAMER-{diameter}", "cup reamer", attributes={"diameter": diameter})
        yield Instrument(
            f"TRIAL-SHELL-{diameter}", "trial shell", attributes={"diameter": diameter}
        )
    for neck in NECK_LENGTHS:
        yield Instrument(f"TRIAL-HEAD{neck:+d}", "trial head", attributes={"neck_length": neck})
    for tool in ("OSTEOTOME", "STEM-PULLER", "CEMENT-HOOK", "CUP-KNIFE"):
        yield Instrument(tool, "extraction tool", attributes={"group": tool})
    for tool in ("CABLE-TENSIONER", "CABLE-CUTTER", "CABLE-PASSER"):
        yield Instrument(tool, "cable tool", attributes={"group": tool})


def configurations(turnaround: int, quick: int) -> dict[str, Configuration]:
    """The count sheets; turnarounds in minutes, standard and fast track.

    Not every set may be fast-tracked, and each line is as far as the next from being alike.
    """
    refs = instruments()
    by_role: dict[str, list[str]] = {}
    for instrument in refs.values():
        by_role.setdefault(instrument.role, []).append(instrument.ref)

    def of_line(line: str, *roles: str) -> list[str]:
        return [
            ref
            for role in roles
            for ref in by_role[role]
            if f"-{line}" in ref[ref.index("-") :][:2]
        ]

    sheets: dict[str, tuple[str, list[str], bool]] = {}
    for line in LINES:
        common = ["handle", "trial neck"]
        sheets[f"BASE-{line}"] = ("base", of_line(line, "broach", *common), True)
        sheets[f"ADD-{line}"] = ("add-on", of_line(line, "reamer", "trial stem"), line in "AC")
        alone = of_line(line, "reamer", "trial stem", *common)
        sheets[f"SOLO-{line}"] = ("stand-alone", alone, line in "AB")
    for make in ("1", "2"):
        cup = [*by_role["cup reamer"], *by_role["trial shell"], *by_role["trial head"]]
        sheets[f"CUP-{make}"] = ("acetabular", cup, True)
        sheets[f"EXTRACT-{make}"] = ("extraction", by_role["extraction tool"], make == "1")
        sheets[f"CABLES-{make}"] = ("cables", by_role["cable tool"], make == "1")
    found = {
        code: Configuration(
            code, kind, dict.fromkeys(contents, 1), turnaround, quick if may_hurry else None
        )
        for code, (kind, contents, may_hurry) in sheets.items()
    }
    for ref in (*by_role["reamer"][::3], *by_role["cup reamer"][::3], "CEMENT-HOOK"):
        pack = f"SP-{ref}"
        found[pack] = Configuration(pack, SUPPLEMENTARY, {ref: 1}, turnaround)
    return found


# -- techniques -------------------------------------------------------------------------------


def techniques(screws: int = SCREWS) -> dict[str, Technique]:
    """`screws`: how many of each length a new cup asks for."""
    return {
        technique.code: technique
        for line in LINES
        for technique in (_primary(line, screws), _revision(line, screws))
    }


_CUP = SetAsked("acetabular preparation", (("CUP-1",), ("CUP-2",)), {"cup": ("new",)})


def _around(path: str, below: int, above: int) -> Ladder:
    return Ladder(FromPlan(path), FromPlan(path), below, above)


def _primary(line: str, screws: int) -> Technique:
    base = SetAsked("femoral preparation", ((f"BASE-{line}",),))
    system: Mapping[str, Selection] = {"system": FromPlan("stem.system")}
    rules = (
        Rule("broach", Need.PLANNED, {**system, "size": Ladder(1, FromPlan("stem.size"))}),
        Rule("broach", Need.CONTINGENCY, {**system, "size": _around("stem.size", 0, 1)}),
        Rule(
            "stem",
            Need.CONTINGENCY,
            {**system, "size": _around("stem.size", 2, 2), "offset": OneOf(OFFSETS)},
        ),
    )
    return Technique(f"PRIMARY-{line}", sets=(base, _CUP), rules=(*rules, *_common(line, screws)))


def _revision(line: str, screws: int) -> Technique:
    femoral = SetAsked("femoral preparation", ((f"SOLO-{line}",), (f"BASE-{line}", f"ADD-{line}")))
    extraction = SetAsked("extraction", (("EXTRACT-1",), ("EXTRACT-2",)))
    cables = SetAsked(
        "cables", (("CABLES-1",), ("CABLES-2",)), {"approach": ("extended osteotomy",)}
    )
    system: Mapping[str, Selection] = {"system": FromPlan("stem.system")}
    size, offset, length = (FromPlan(f"stem.{key}") for key in ("size", "offset", "length"))
    rules = (
        Rule("reamer", Need.PLANNED, {**system, "size": Ladder(REVISION_SIZES[0], size)}),
        Rule("reamer", Need.CONTINGENCY, {**system, "size": _around("stem.size", 0, 2)}),
        Rule("trial stem", Need.PLANNED, {**system, "size": size}),
        Rule("trial stem", Need.CONTINGENCY, {**system, "size": _around("stem.size", 1, 2)}),
        Rule(
            "stem",
            Need.CONTINGENCY,
            {
                **system,
                "size": _around("stem.size", 2, 2),
                "offset": OneOf(OFFSETS),
                "length": _around("stem.length", 0, 1),
            },
        ),
        Rule("stem", Need.SPARE, {**system, "size": size, "offset": offset, "length": length}),
        Rule("extraction tool", Need.PLANNED),
        Rule("cable tool", Need.PLANNED, when={"approach": ("extended osteotomy",)}),
        Rule("cable", Need.CONTINGENCY, quantity=2, when={"approach": ("extended osteotomy",)}),
    )
    return Technique(
        f"REVISION-{line}",
        sets=(femoral, _CUP, extraction, cables),
        rules=(*rules, *_common(line, screws)),
        checks=(
            Check(
                "liner does not take this head",
                "equal",
                (FromPlan("liner.inner_diameter"),),
                (FromPlan("head.diameter"),),
            ),
        ),
    )


def _common(line: str, screws: int) -> tuple[Rule, ...]:
    """What every hip asks for; of the cup only where it is new."""
    new_cup = {"cup": ("new",)}
    head: Mapping[str, Selection] = {
        "diameter": FromPlan("head.diameter"),
        "material": FromPlan("head.material"),
    }
    shell = FromPlan("shell.diameter")
    return (
        Rule("handle", Need.PLANNED, {"group": OneOf((line,))}),
        Rule("trial neck", Need.PLANNED, {"group": OneOf((line,))}),
        Rule("head", Need.CONTINGENCY, {**head, "neck_length": OneOf(NECK_LENGTHS)}),
        Rule("head", Need.SPARE, {**head, "neck_length": FromPlan("head.neck_length")}),
        Rule("cup reamer", Need.PLANNED, {"diameter": Ladder(SHELLS[0], shell)}, when=new_cup),
        Rule(
            "cup reamer",
            Need.CONTINGENCY,
            {"diameter": _around("shell.diameter", 0, 2)},
            when=new_cup,
        ),
        Rule("trial shell", Need.PLANNED, {"diameter": shell}, when=new_cup),
        Rule(
            "trial shell",
            Need.CONTINGENCY,
            {"diameter": _around("shell.diameter", 1, 2)},
            when=new_cup,
        ),
        Rule(
            "shell", Need.CONTINGENCY, {"diameter": _around("shell.diameter", 1, 2)}, when=new_cup
        ),
        Rule("trial head", Need.CONTINGENCY, when=new_cup),
        Rule("liner", Need.CONTINGENCY, {"inner_diameter": FromPlan("head.diameter")}),
        Rule("liner", Need.SPARE, {"ref": FromPlan("liner.ref")}),
        Rule("screw", Need.CONTINGENCY, quantity=screws, when=new_cup),
    )
