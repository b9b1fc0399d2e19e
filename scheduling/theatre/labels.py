"""Which of a case's boxes a label may be on.  Pure."""

from __future__ import annotations

from implants.models import Unit
from scheduling.pick_lists.match_box import is_label_of
from scheduling.pick_lists.reading import item_of
from scheduling.pick_lists.scan_values import BoxRead, BoxState
from scheduling.theatre.asking import CaseBoxes


def boxes_of_label(read: BoxRead, boxes: CaseBoxes) -> list[Unit]:
    """In the order of their codes; more than one where the label cannot tell them apart."""
    return [unit for unit in boxes.units if is_label_of(read, named(unit))]


def named(unit: Unit) -> BoxState:
    """What of a box its label may say."""
    return BoxState(unit.code, item_of(unit.implant), unit.lot, unit.serial, unit.expiry)
