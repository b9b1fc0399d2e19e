from __future__ import annotations

import pytest
from django.core.management import CommandError, call_command

from scheduling.models import Technique
from tests import factories

IN_WORDS = """\
REVISION-STEM  Revision of the stem

Sets of trays
  femoral preparation: STAND; or else BASE + ADD
  extraction: EXTRACT, when stem_out is well fixed

Needs
  planned: 1 × reamer, diameter from 9 to stem.distal_diameter
  contingency: 2 × stem, size at stem.size, 1 below, 2 above; offset "high", when approach is \
posterior or lateral and cup is yes
  spare: 1 × head, every one in the catalogue

Checks
  “tapers differ” unless head.taper equals stem.taper
  “too short” unless stem.length is at least osteotomy_mm + 2.5 × bone_mm

Confirmations
  film looked at, when cup is retained
"""


@pytest.fixture
def technique(site) -> Technique:
    made = Technique.objects.create(site=site, code="REVISION-STEM", name="Revision of the stem")
    made.sets.create(
        position=1, purpose="femoral preparation", options=[["STAND"], ["BASE", "ADD"]]
    )
    made.sets.create(
        position=2, purpose="extraction", options=[["EXTRACT"]], when={"stem_out": "well fixed"}
    )
    made.rules.create(
        position=1,
        role="reamer",
        need="planned",
        select={"diameter": {"ladder": {"from": 9, "to": {"plan": "stem.distal_diameter"}}}},
    )
    made.rules.create(
        position=2,
        role="stem",
        need="contingency",
        quantity=2,
        select={
            "size": {"ladder": {"at": {"plan": "stem.size"}, "below": 1, "above": 2}},
            "offset": "high",
        },
        when={"approach": ["posterior", "lateral"], "cup": True},
    )
    made.rules.create(position=3, role="head", need="spare")
    made.checks.create(
        position=1, code="tapers differ", kind="equal", left="head.taper", right="stem.taper"
    )
    made.checks.create(
        position=2,
        code="too short",
        kind="at least",
        left=["stem.length"],
        right=["osteotomy_mm", {"times": 2.5, "of": "bone_mm"}],
    )
    made.confirmations.create(code="film looked at", when={"cup": "retained"})
    return made


@pytest.fixture
def catalogue(site) -> None:
    for code in ("STAND", "BASE", "ADD", "EXTRACT"):
        factories.configuration(site, code)
    factories.instrument(site, role="reamer", diameter=12)
    factories.implant(
        site, "S", "stem", size=12, offset="high", distal_diameter=12, taper="T", length=225
    )
    factories.implant(site, "H", "head", taper="T")


def test_a_technique_in_words(technique, catalogue, capsys):
    call_command("explain_technique", "REVISION-STEM")
    assert capsys.readouterr().out == IN_WORDS


def test_what_cannot_be_explained_is_said(technique, capsys):
    with pytest.raises(CommandError, match=r"Cannot be explained:\nset 1, options: option 1: "):
        call_command("explain_technique", "REVISION-STEM")


def test_a_code_that_no_technique_has(site):
    with pytest.raises(CommandError, match="0 techniques fit 'NONE'"):
        call_command("explain_technique", "NONE")
