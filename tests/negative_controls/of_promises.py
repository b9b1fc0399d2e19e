"""What the rules about promises refuse: name of the rule → the write that it must refuse."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from implants.ledger import UNITS
from scheduling.models import TrayReservation, UnitReservation
from tests import factories
from tests.factories import NOW
from tests.negative_controls.house import House, entry, kind
from trays.ledger import TRAYS


def a_box_on_hold(house: House) -> None:
    factories.promised_unit(house.left, factories.held(house.unit, "dropped"))


def a_box_picked_for_another(house: House) -> None:
    entry(house.unit, UNITS, house.by, kind(UNITS, house.unit, "pick"), case_ref="C2")
    factories.promised_unit(house.left, house.unit)


def a_box_out_of_date(house: House) -> None:
    factories.promised_unit(house.left, house.expired)


def a_box_out_of_date_by_its_new_day(house: House) -> None:
    factories.promised_unit(house.left, house.unit)
    UnitReservation.objects.update(used_on=house.unit.expiry + timedelta(days=1))


def a_box_of_the_other_side(house: House) -> None:
    factories.promised_unit(house.left, house.right)


def a_tray_on_hold(house: House) -> None:
    hold = TRAYS.model("traymove").objects.get(from_state="sterile store", to_state="quarantine")
    entry(house.tray, TRAYS, house.by, hold, reason="wet", ready_at=None)
    factories.promised_tray(house.left, house.tray)


def picks_what_another_case_has(house: House) -> None:
    factories.promised_unit(house.other, house.unit)
    entry(house.unit, UNITS, house.by, kind(UNITS, house.unit, "pick"), case_ref="C1")


def picks_the_other_side(house: House) -> None:
    entry(house.right, UNITS, house.by, kind(UNITS, house.right, "pick"), case_ref="C1")


def implants_the_other_side(house: House) -> None:
    entry(house.right, UNITS, house.by, kind(UNITS, house.right, "implant"), case_ref="C1")


def a_tray_twice_at_once(house: House) -> None:
    factories.promised_tray(house.left, house.tray)
    factories.promised_tray(house.other, house.tray)


def a_tray_moved_into_another_use(house: House) -> None:
    factories.promised_tray(house.left, house.tray)
    later = timedelta(days=1)
    factories.promised_tray(
        house.other,
        house.tray,
        busy_from=house.other.start + later,
        busy_until=house.other.end + later,
    )
    TrayReservation.objects.filter(case=house.other).update(busy_from=house.other.start)


def revives_a_box(house: House) -> None:
    factories.promised_unit(house.left, house.unit, freed_at=NOW)
    UnitReservation.objects.update(freed_at=None)


def revives_a_tray(house: House) -> None:
    factories.promised_tray(house.left, house.tray, freed_at=NOW)
    TrayReservation.objects.update(freed_at=None)


def deletes_a_promise_of_a_box(house: House) -> None:
    factories.promised_unit(house.left, house.unit)
    UnitReservation.objects.all().delete()


def deletes_a_promise_of_a_tray(house: House) -> None:
    factories.promised_tray(house.left, house.tray)
    TrayReservation.objects.all().delete()


CONTROLS: dict[str, Callable[[House], None]] = {
    "scheduling_reserved_usable": a_box_on_hold,
    "scheduling_reserved_picked_for_it": a_box_picked_for_another,
    "scheduling_reserved_in_date_insert": a_box_out_of_date,
    "scheduling_reserved_in_date_update": a_box_out_of_date_by_its_new_day,
    "scheduling_reserved_right_side": a_box_of_the_other_side,
    "scheduling_reserved_tray_usable": a_tray_on_hold,
    "scheduling_picked_for_its_case": picks_what_another_case_has,
    "scheduling_picked_right_side": picks_the_other_side,
    "scheduling_implanted_right_side": implants_the_other_side,
    "scheduling_tray_uses_apart_insert": a_tray_twice_at_once,
    "scheduling_tray_uses_apart_update": a_tray_moved_into_another_use,
    "scheduling_unit_reservation_ends_once": revives_a_box,
    "scheduling_tray_reservation_ends_once": revives_a_tray,
    "scheduling_unit_reservation_is_kept": deletes_a_promise_of_a_box,
    "scheduling_tray_reservation_is_kept": deletes_a_promise_of_a_tray,
}
