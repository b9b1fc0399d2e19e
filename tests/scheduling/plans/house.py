"""A small catalogue and a technique to plan with: two lines of stems, heads, a sided cup."""

from __future__ import annotations

from deploy.kit.attributes import Value
from scheduling.coverage.scenario_read_technique import read_technique
from scheduling.coverage.values import Implant, Technique


def implant(ref: str, role: str, **attributes: Value) -> Implant:
    return Implant(ref, role, attributes=attributes)


STEMS = [
    implant(f"A-{size}-{offset}-{length}", role="stem", system="A", size=size, offset=offset,
            length=length, taper="T1", distal_diameter=size)
    for size, offsets in ((11, ("standard",)), (12, ("standard", "high")), (13, ("high",)))
    for offset in offsets
    for length in (190, 225)
] + [
    implant(f"B-{size}-{offset}", role="stem", system="B", size=size, offset=offset, taper="T2")
    for size in (3, 4)
    for offset in ("standard", "high")
]  # fmt: skip
HEADS = [
    implant(f"H-{diameter}-{neck}", role="head", diameter=diameter, neck_length=neck, taper="T1")
    for diameter in (32, 36)
    for neck in (-4, 0, 4)
]
CUPS = [implant(f"CUP-{side}", role="cup", side=side) for side in ("left", "right")]
CABLE = implant("CABLE", role="cable")
CATALOGUE: list[Implant] = [*STEMS, *HEADS, *CUPS, CABLE]


def technique() -> Technique:
    """Asks for a stem and a head; what it asks of the bone depends on the approach."""
    faults: list[str] = []
    read = read_technique(
        {
            "code": "REV",
            "name": "Revision of the stem",
            "sets": [
                {"purpose": "extraction", "options": [["X"]], "when": {"stem_out": "well fixed"}}
            ],
            "rules": [
                {
                    "role": "stem",
                    "need": "contingency",
                    "select": {
                        "system": {"plan": "stem.system"},
                        "size": {"ladder": {"at": {"plan": "stem.size"}, "below": 1, "above": 2}},
                    },
                },
                {"role": "cable", "need": "planned", "when": {"approach": "osteotomy"}},
                {"role": "cable", "need": "contingency", "when": {"approach": ["lateral"]}},
                {"role": "cable", "need": "spare", "when": {"graft": True}},
            ],
            "checks": [
                {
                    "code": "liner does not take this head",
                    "kind": "equal",
                    "left": "liner_diameter",
                    "right": "head.diameter",
                    "when": {"cup": "retained"},
                },
                {
                    "code": "stem too short",
                    "kind": "at least",
                    "left": ["stem.length"],
                    "right": ["osteotomy_mm", {"times": 2, "of": "bone_diameter_mm"}],
                    "when": {"approach": "osteotomy"},
                },
            ],
            "confirmations": [{"code": "cup seen on film", "when": {"cup": "retained"}}],
        },
        "technique",
        faults,
        {"X": "stand-alone"},
    )
    assert not faults
    return read
