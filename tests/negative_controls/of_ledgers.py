"""What each ledger's rules refuse: name of the rule → the write that it must refuse."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.db import connection

from deploy.kit.ledger import Ledger
from tests.factories import NOW
from tests.negative_controls.house import LATER, LEDGERS, House, entry, kind, trial

Attempt = Callable[[House], None]


def controls() -> Iterator[tuple[str, Attempt]]:
    for ledger in LEDGERS:
        name = f"{ledger.app}_{ledger.item}"
        for rule, attempt in ATTEMPTS.items():
            yield f"{name}_{rule}", _of(ledger, attempt)
    yield "implants_picked_in_date", picked_expired
    yield "implants_implanted_in_date", implanted_expired
    yield "implants_used_for_a_case", picked_for_nobody


def _of(ledger: Ledger, attempt: Callable[[House, Ledger], None]) -> Attempt:
    return lambda house: attempt(house, ledger)


def enters_standing(house: House, ledger: Ledger) -> None:
    item = house.item(ledger)
    item.pk, item.code, item.asset = None, "NEW", "02999990"
    item.save(force_insert=True)


def changes_by_hand(house: House, ledger: Ledger) -> None:
    state = {"unit": "wasted", "order": "closed", "loan": "arrived"}.get(ledger.item, "cleaning")
    type(house.item(ledger)).objects.update(**{ledger.state: state})


def leaves_a_gap(house: House, ledger: Ledger) -> None:
    item = house.item(ledger)
    entry(item, ledger, house.by, trial(ledger, item), seq=item.seq + 2)


def is_signed_by_nobody(house: House, ledger: Ledger) -> None:
    item = house.item(ledger)
    entry(item, ledger, house.by, trial(ledger, item), by=None)


def is_signed_by_one(house: House, ledger: Ledger) -> None:
    item = house.item(ledger)
    entry(item, ledger, house.by, trial(ledger, item, two_people=True))


def says_no_reason(house: House, ledger: Ledger) -> None:
    item = house.item(ledger)
    entry(item, ledger, house.by, trial(ledger, item, reasoned=True))


def says_when_it_was_recorded(house: House, ledger: Ledger) -> None:
    item = house.item(ledger)
    entry(item, ledger, house.by, trial(ledger, item), recorded_at=NOW)


def is_dated_otherwise(house: House, ledger: Ledger) -> None:
    item = house.item(ledger)
    entry(item, ledger, house.by, trial(ledger, item), day=(NOW + LATER).date())


def is_edited(house: House, ledger: Ledger) -> None:
    house.item(ledger).movements.update(reason="another")


def is_deleted(house: House, ledger: Ledger) -> None:
    house.item(ledger).movements.all().delete()


def is_swept_away(house: House, ledger: Ledger) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"TRUNCATE {ledger.app}_{ledger.movement}")


def means_something_else(house: House, ledger: Ledger) -> None:
    ledger.model(ledger.move).objects.update(two_people=False)


ATTEMPTS: dict[str, Callable[[House, Ledger], None]] = {
    "enters_by_movement": enters_standing,
    "changes_by_movement": changes_by_hand,
    "movement_follows": leaves_a_gap,
    "movement_signed": is_signed_by_nobody,
    "movement_two_people": is_signed_by_one,
    "movement_reasoned": says_no_reason,
    "movement_timed": says_when_it_was_recorded,
    "movement_dated": is_dated_otherwise,
    "movement_no_update": is_edited,
    "movement_no_delete": is_deleted,
    "movement_no_truncate": is_swept_away,
    "move_no_update": means_something_else,
}


def picked_expired(house: House) -> None:
    unit = house.expired
    entry(unit, LEDGERS[0], house.by, kind(LEDGERS[0], unit, "pick"), case_ref="C1")


def implanted_expired(house: House) -> None:
    unit = house.expired
    entry(unit, LEDGERS[0], house.by, kind(LEDGERS[0], unit, "implant"), case_ref="C1")


def picked_for_nobody(house: House) -> None:
    entry(house.unit, LEDGERS[0], house.by, kind(LEDGERS[0], house.unit, "pick"))
