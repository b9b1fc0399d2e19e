"""Input that cannot be reckoned with."""

from __future__ import annotations

from collections.abc import Iterable


class SizeRiskFaults(ValueError):
    """Every fault of the input as `place: what is wrong`."""

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(self.faults))


def refuse(faults: Iterable[str]) -> None:
    """Raise SizeRiskFaults if there is any fault."""
    found = tuple(faults)
    if found:
        raise SizeRiskFaults(found)
