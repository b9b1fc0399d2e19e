"""A pick list's content as the templates show it: the words of the print, line by line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scheduling.pick_lists import words
from scheduling.pick_lists.codes import Code, code_of
from scheduling.pick_lists.values import Content, Line, Section, by_location


@dataclass(frozen=True, slots=True)
class LineView:
    """A line in the words of the print."""

    line: Line
    code: Code | None = None

    @property
    def heading(self) -> str:
        return words.heading(self.line)

    @property
    def big(self) -> str:
        return words.big_words(self.line)

    @property
    def identity(self) -> str:
        return words.identity(self.line)

    @property
    def use_by(self) -> tuple[str, str]:
        return words.use_by(self.line)


@dataclass(frozen=True, slots=True)
class PartView:
    title: str
    number: int
    places: list[tuple[str, list[LineView]]]


@dataclass(frozen=True, slots=True)
class SectionView:
    section: Section
    parts: list[PartView]

    @property
    def place_and_side(self) -> str:
        return words.place_and_side(self.section)

    @property
    def start(self) -> str:
        return words.start(self.section)

    @property
    def needed_by(self) -> str:
        return words.capital(words.needed_by(self.section))

    @property
    def absent(self) -> list[tuple[Any, str, str]]:
        return [
            (absent, words.absence(absent), words.need(absent.need))
            for absent in self.section.absent
        ]


def section_views(content: Content, *, with_codes: bool) -> list[SectionView]:
    """The sections in the paper's order; codes cost about 4 ms each, so only where they show."""

    def part(title: str, lines: tuple[Line, ...]) -> PartView:
        places = [
            (place, [LineView(line, code_of(line.link) if with_codes else None) for line in group])
            for place, group in by_location(lines)
        ]
        return PartView(title, len(lines), places)

    return [
        SectionView(section, [part("Trays", section.trays), part("Implants", section.boxes)])
        for section in content.sections
    ]
