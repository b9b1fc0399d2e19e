"""The boxes of a loan as text: one item a line, as a delivery note or a spreadsheet has them."""

from __future__ import annotations

import re
from collections.abc import Container

MOST_BOXES = 500

_LINE = re.compile(r"(?P<ref>\S.*?)(?:\s*[\t;,×x*]\s*|\s+)(?P<quantity>\d{1,4})")


class NoteFaults(ValueError):
    def __init__(self, faults: list[str]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


def read_delivery_note(text: str, known: Container[str]) -> dict[str, int]:
    """REF → how many, in the order of the lines; a REF that stands twice adds up.  A line without a
    number is one box.  `known`: the catalogue's REFs.

    NoteFaults with the faults of all lines.
    """
    boxes: dict[str, int] = {}
    faults = []
    for number, line in enumerate(text.replace("\0", "").splitlines(), start=1):
        said = line.strip()
        if not said:
            continue
        # A REF may itself end in a number: the whole line is tried first.
        match = None if said in known else _LINE.fullmatch(said)
        ref, quantity = (match["ref"], int(match["quantity"])) if match else (said, 1)
        if ref not in known:
            faults.append(f"line {number}: “{ref[:60]}” is not in the catalogue")
        elif not quantity:
            faults.append(f"line {number}: {ref}: 1 or more, or no line")
        boxes[ref] = boxes.get(ref, 0) + quantity
    if sum(boxes.values()) > MOST_BOXES:
        faults.append(f"more than {MOST_BOXES} boxes: make it two loans")
    if faults:
        raise NoteFaults(faults)
    return boxes
