"""How much a workbook may hold.  Measured: a bomb of 0.41 MB took 831 MiB to read without these."""

from __future__ import annotations

from dataclasses import dataclass

MB = 1_000_000


@dataclass(frozen=True, slots=True)
class Limits:
    """Caps on one uploaded workbook; sizes in bytes.

    `ratio` (unpacked to packed) holds for the whole file and for each part over
    `ratio_applies_from`: a small part of repeated words honestly packs better.  `rows` counts
    below the header; `characters` are those of all texts, up to four bytes each in memory.
    `cells`, `parts` and `elements` (of every part but sheets and texts) bound the time that
    reading takes.
    """

    uploaded: int = 10 * MB
    unpacked: int = 100 * MB
    ratio: int = 100
    ratio_applies_from: int = MB
    rows: int = 20_000
    columns: int = 200
    cells: int = 600_000
    merged_areas: int = 10_000
    merged_cells: int = 100_000
    text_length: int = 32_767
    characters: int = 20_000_000
    parts: int = 1_000
    elements: int = 50_000
    depth: int = 64
    faults: int = 10_000


LIMITS = Limits()
