"""A count sheet as text: one instrument a line in tray order, `REF` or `REF × 3`."""

from __future__ import annotations

import re
from collections.abc import Container, Mapping

_LINE = re.compile(r"(?P<ref>.+?)(?:\s+[×x*]\s*(?P<quantity>\d+))?")


class CountSheetFaults(ValueError):
    def __init__(self, faults: list[str]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


def read_count_sheet(text: str, known: Container[str]) -> dict[str, int]:
    """REF → quantity, in the order of the lines.  `known`: the instruments' references.

    CountSheetFaults with the faults of all lines.
    """
    contents: dict[str, int] = {}
    faults = []
    for number, line in enumerate(text.splitlines(), start=1):
        match = _LINE.fullmatch(line.strip())
        if match is None:
            continue
        ref, quantity = match["ref"], int(match["quantity"] or 1)
        if ref not in known:
            faults.append(f"line {number}: there is no instrument {ref}")
        elif ref in contents:
            faults.append(f"line {number}: {ref} has a line already")
        elif quantity == 0:
            faults.append(f"line {number}: {ref}: 1 or more, or no line")
        contents[ref] = quantity
    if faults:
        raise CountSheetFaults(faults)
    return contents


def say_count_sheet(contents: Mapping[str, int]) -> str:
    return "\n".join(
        ref if quantity == 1 and not re.search(r"\s[×x*]\s*\d+$", ref) else f"{ref} × {quantity}"
        for ref, quantity in contents.items()
    )
