"""What the rules about openings refuse: name of the rule → the write that it must refuse."""

from __future__ import annotations

from collections.abc import Callable

from implants.ledger import UNITS
from scheduling.models import LabelCheck, Opening, OutsideBox, OutsideBoxVoid, TrayTaken
from tests.factories import NOW
from tests.negative_controls.house import House, entry, kind


def opened(house: House) -> None:
    house.unit.refresh_from_db()
    entry(house.unit, UNITS, house.by, kind(UNITS, house.unit, "pick"), case_ref="C1")
    said = {"case": house.left, "unit": house.unit, "at": NOW, "by": house.by.user}
    check = LabelCheck.objects.create(read="U001", answer="MATCHES LIST", **said)
    Opening.objects.create(check_made=check, **said)


def puts_an_opened_box_back(house: House) -> None:
    opened(house)
    house.unit.refresh_from_db()
    entry(house.unit, UNITS, house.by, kind(UNITS, house.unit, "put back"), case_ref="")


def changes_an_opening(house: House) -> None:
    opened(house)
    Opening.objects.update(override="it never was")


def deletes_an_opening(house: House) -> None:
    opened(house)
    Opening.objects.all().delete()


def changes_a_check(house: House) -> None:
    opened(house)
    LabelCheck.objects.update(answer="STOP")


def deletes_a_check(house: House) -> None:
    said = {"case": house.left, "at": NOW, "by": house.by.user}
    LabelCheck.objects.create(read="U001", answer="STOP", **said)
    LabelCheck.objects.all().delete()


def outside(house: House) -> OutsideBox:
    return OutsideBox.objects.create(
        case=house.left,
        outcome="implanted",
        role="screw",
        words="screw, 30 mm",
        maker="Maker North",
        ref="SCR-30",
        lot="L7",
        does_not_expire=True,
        reason="none was left",
        at=NOW,
        by=house.by.user,
        second=house.second.user,
    )


def changes_an_outside_box(house: House) -> None:
    outside(house)
    OutsideBox.objects.update(lot="L8")


def deletes_an_outside_box(house: House) -> None:
    outside(house).delete()


def void(house: House) -> OutsideBoxVoid:
    box = outside(house)
    said = {"reason": "typed twice", "at": NOW, "by": box.by, "second": box.second}
    return OutsideBoxVoid.objects.create(box=box, **said)


def changes_a_void(house: House) -> None:
    void(house)
    OutsideBoxVoid.objects.update(reason="another")


def deletes_a_void(house: House) -> None:
    void(house).delete()


def tray_taken(house: House) -> TrayTaken:
    said = {"case": house.left, "tray": house.tray, "at": NOW, "by": house.by.user}
    check = LabelCheck.objects.create(read="T", answer="STOP", **said)
    return TrayTaken.objects.create(check_made=check, override="the only one", **said)


def changes_a_tray_taken(house: House) -> None:
    tray_taken(house)
    TrayTaken.objects.update(override="another")


def deletes_a_tray_taken(house: House) -> None:
    tray_taken(house).delete()


CONTROLS: dict[str, Callable[[House], None]] = {
    "scheduling_opened_not_put_back": puts_an_opened_box_back,
    "scheduling_opening_no_update": changes_an_opening,
    "scheduling_opening_no_delete": deletes_an_opening,
    "scheduling_labelcheck_no_update": changes_a_check,
    "scheduling_labelcheck_no_delete": deletes_a_check,
    "scheduling_outsidebox_no_update": changes_an_outside_box,
    "scheduling_outsidebox_no_delete": deletes_an_outside_box,
    "scheduling_outsideboxvoid_no_update": changes_a_void,
    "scheduling_outsideboxvoid_no_delete": deletes_a_void,
    "scheduling_traytaken_no_update": changes_a_tray_taken,
    "scheduling_traytaken_no_delete": deletes_a_tray_taken,
}
