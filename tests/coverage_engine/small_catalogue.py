"""A small catalogue of stems, heads and reamers, and what a case needs of it by a technique."""

from __future__ import annotations

from collections.abc import Mapping

from deploy.kit.attributes import Value
from scheduling.coverage.catalogue import Catalogue
from scheduling.coverage.needs import CaseNeeds, Techniques, needs_of
from scheduling.coverage.values import Component, Implant, Instrument, Technique
from tests.coverage_engine.build import case, implant, instrument, scenario

STEMS = [implant(f"STEM-{size}", size=size, offset="standard") for size in (10, 11, 12, 14, 16)]
HEADS = [implant(f"HEAD-{diameter}", diameter=diameter) for diameter in (28, 32)]
REAMERS = [instrument(f"REAM-{d}", diameter=d) for d in (9, 10, 11, 12, 14, 16, 18)]
PLAN: Mapping[str, Mapping[str, Value]] = {"stem": {"size": 12}}


def needs(
    asked: Technique,
    *more: Implant | Instrument,
    plan: Mapping[str, Mapping[str, Value] | Component] = PLAN,
    confirmed: tuple[str, ...] = (),
    **facts: Value | bool,
) -> CaseNeeds:
    """What a case with this plan needs, by this technique, from the catalogue above and `more`."""
    booked = case("C1", plan=plan, confirmed=confirmed, facts=facts)
    return needs_of(booked, asked, Techniques(Catalogue(scenario(*STEMS, *HEADS, *REAMERS, *more))))
