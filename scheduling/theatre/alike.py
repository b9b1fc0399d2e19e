"""Which boxes of the house a label may be on, where it cannot tell them apart.

A label names REF and LOT, seldom the one box.  Which of its boxes is in hand only a person can
say: by the box's own code, or by what else tells it from the others.
"""

from __future__ import annotations

from implants.models import Unit
from implants.states import IN_THE_HOUSE
from scheduling.models import LabelCheck
from scheduling.pick_lists.asking import alike_boxes
from scheduling.pick_lists.match_box import is_label_of
from scheduling.pick_lists.reading import read
from scheduling.pick_lists.scan_values import BoxRead, Word
from scheduling.pick_lists.walking import natural
from scheduling.theatre.labels import named


def boxes_it_may_be(check: LabelCheck) -> list[Unit]:
    """Those in the house, in the order of their codes, 2 before 10; none where the answer is about
    one box or tray, or fewer than two are left.  At most eight queries."""
    if check.answer != Word.STOP or check.unit_id or check.tray_id:
        return []
    site = check.case.site
    label, _ = read(check.read, site=site, today=site.local(check.at).date())
    if not isinstance(label, BoxRead) or label.item is None:
        return []
    boxes = [
        unit
        for unit in alike_boxes(label, site).filter(state__in=IN_THE_HOUSE)
        if is_label_of(label, named(unit))
    ]
    return sorted(boxes, key=lambda unit: natural(unit.code)) if len(boxes) > 1 else []
