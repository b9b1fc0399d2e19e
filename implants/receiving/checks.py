"""Whether a box may go to the shelf: a rule on values, all faults at once, in a fixed order.

What only eyes can tell (size, offset and side on the label, packaging intact) is asked of the
person; the answer comes in as a finding of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class BoxRead:
    """What the label says.  `ref_on_label`: the maker's own REF, where the code holds one."""

    ref: str
    lot: str
    serial: str
    expiry: date | None
    quantity: int | None = None
    ref_on_label: str = ""


@dataclass(frozen=True, slots=True)
class Known:
    """What the house knows.  `least_days_left`: its own setting.  `recalled`: why boxes of this
    item with this lot or serial are recalled, or empty."""

    today: date
    least_days_left: int
    recalled: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """Why a box stops: a code, what was asked, what was read.  Worded in `words`."""

    code: str
    asked: str = ""
    read: str = ""

    def as_json(self) -> dict[str, str]:
        return asdict(self)


def findings(box: BoxRead, known: Known) -> tuple[Finding, ...]:
    """Everything that keeps the box from the shelf, the gravest first; none if it may go there."""
    return tuple(_findings(box, known))


def _findings(box: BoxRead, known: Known) -> Iterator[Finding]:
    if known.recalled:
        said = f"LOT {box.lot}" if box.lot else f"SN {box.serial}"
        yield Finding("recalled", "a lot that is not recalled", f"{said}: {known.recalled}")
    if box.ref_on_label and _plain(box.ref_on_label) != _plain(box.ref):
        yield Finding("other REF", f"REF {box.ref}", f"REF {box.ref_on_label}")
    if box.quantity is not None and box.quantity > 1:
        yield Finding("pack", "the label of one box", f"a pack of {box.quantity}")
    if box.expiry is not None:
        last = known.today + timedelta(days=known.least_days_left)
        if box.expiry < known.today:
            yield Finding("expired", f"use by {last:%d %b %Y} or later", _use_by(box.expiry))
        elif box.expiry < last:
            yield Finding("short-dated", f"use by {last:%d %b %Y} or later", _use_by(box.expiry))


def _use_by(day: date) -> str:
    return f"use by {day:%d %b %Y}"


def _plain(ref: str) -> str:
    """REFs are printed with and without dashes, dots and blanks."""
    return "".join(one for one in ref.upper() if one.isalnum())
