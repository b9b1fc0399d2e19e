"""The ledger of a kind of item: what moves are allowed, and the rules that the database keeps.

An item (a box, a tray) stands in a state.  A movement takes it from one state to another; it is
added and never edited, and numbered by the item's own `seq`.  The database refuses a movement
that does not follow the item's last one, and sets the item's state from it; it refuses any other
change of the state.  So replaying the movements always gives the state, and neither a gap nor a
fork can exist.

What the state says further (until when a box is expected, why it is on hold) is the item's
*standing*: columns that item and movement both have, copied from the movement.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import AppConfig, apps
from django.db import connections
from django.db.models.signals import post_migrate
from django.utils.module_loading import import_string

from deploy.kit.guards import ALWAYS, Effect, Guard, Trigger, added_only, keep

NOT_ENTERED = ""
"""The state of an item before its first movement: it counts for nothing."""


@dataclass(frozen=True, slots=True)
class Move:
    """One allowed move, a row of the moves' table.

    `two_people`: a second person signs too.  `reasoned`: a reason is given.  `unsigned`: may be
    recorded by nobody (what a file states is nobody's act).
    """

    from_state: str
    to_state: str
    kind: str
    two_people: bool = False
    reasoned: bool = False
    unsigned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """Where a ledger is kept.  `item`, `movement`, `move`: models of `app`, in lower case.

    `texts` and `moments`: the standing, by the type of its columns.
    """

    app: str
    item: str
    movement: str
    move: str
    state: str
    texts: tuple[str, ...]
    moments: tuple[str, ...]
    moves: tuple[Move, ...]

    @property
    def standing(self) -> tuple[str, ...]:
        return (*self.texts, *self.moments)

    @property
    def key(self) -> str:
        return f"{self.item}_id"

    def model(self, name: str) -> Any:
        return apps.get_model(self.app, name)

    # -- what the database keeps ----------------------------------------------------------------

    def triggers(self) -> Iterator[Trigger]:
        item, movement, move = (
            f"{self.app}_{name}" for name in (self.item, self.movement, self.move)
        )
        name = f"{self.app}_{self.item}"
        this_item = f"{item} WHERE id = NEW.{self.key}"

        def asked(flag: str) -> str:
            return f"EXISTS (SELECT 1 FROM {move} v WHERE v.id = NEW.move_id AND v.{flag})"

        yield Guard(
            name=f"{name}_enters_by_movement",
            table=item,
            before="INSERT",
            when=" OR ".join(
                [
                    f"NEW.{self.state} <> '' OR NEW.seq <> 0",
                    *(f"NEW.{text} <> ''" for text in self.texts),
                    *(f"NEW.{moment} IS NOT NULL" for moment in self.moments),
                    f"EXISTS (SELECT 1 FROM {movement} m WHERE m.{self.key} = NEW.id)",
                ]
            ),
            says=f"a {self.item} gets its {self.state} by a movement",
        )
        yield Guard(
            name=f"{name}_changes_by_movement",
            table=item,
            before="UPDATE",
            when=f"({self._changed()}) AND NOT EXISTS (SELECT 1 FROM {movement} m "
            f"JOIN {move} v ON v.id = m.move_id WHERE m.{self.key} = NEW.id AND m.seq = NEW.seq "
            f"AND v.to_state = NEW.{self.state} AND {self._same_standing()} AND NOT EXISTS "
            f"(SELECT 1 FROM {movement} l WHERE l.{self.key} = NEW.id AND l.seq > m.seq))",
            says=f"a {self.item} changes its {self.state} by a movement only",
        )
        yield Guard(
            name=f"{name}_movement_follows",
            table=movement,
            before="INSERT",
            when=f"NOT EXISTS (SELECT 1 FROM {item} i JOIN {move} v ON v.id = NEW.move_id "
            f"WHERE i.id = NEW.{self.key} AND i.{self.state} = v.from_state "
            "AND i.seq + 1 = NEW.seq)",
            says="the movement does not follow the last one",
            lock=this_item,
        )
        yield Guard(
            name=f"{name}_movement_signed",
            table=movement,
            before="INSERT",
            when=f"NEW.by_id IS NULL AND NOT {asked('unsigned')}",
            says="a movement without a person",
        )
        yield Guard(
            name=f"{name}_movement_two_people",
            table=movement,
            before="INSERT",
            when=f"(NEW.second_id IS NULL OR NEW.by_id IS NULL) AND {asked('two_people')}",
            says="this movement takes two people",
        )
        yield Guard(
            name=f"{name}_movement_reasoned",
            table=movement,
            before="INSERT",
            when=f"NEW.reason = '' AND {asked('reasoned')}",
            says="this movement takes a reason",
        )
        yield Guard(
            name=f"{name}_movement_timed",
            table=movement,
            before="INSERT",
            # Both give one moment a statement, so a time that the database set is this very one.
            when={
                "sqlite": "NEW.recorded_at <> STRFTIME('%Y-%m-%d %H:%M:%f', 'NOW')",
                "postgresql": "NEW.recorded_at <> STATEMENT_TIMESTAMP()",
            },
            says="when a movement was recorded is for the database to say",
        )
        yield Guard(
            name=f"{name}_movement_dated",
            table=movement,
            before="INSERT",
            # Somewhere on earth it is the day before or after.
            when={
                "sqlite": "ABS(JULIANDAY(NEW.day) - JULIANDAY(DATE(NEW.at))) > 1",
                "postgresql": "ABS(NEW.day - (NEW.at AT TIME ZONE 'UTC')::date) > 1",
            },
            says="the day of a movement is not that of its time",
        )
        yield from added_only(
            f"{name}_movement", movement, says="movements are added, never changed"
        )
        yield Guard(
            name=f"{name}_move_no_update",
            table=move,
            before="UPDATE",
            when=ALWAYS,
            says="what a move means is never changed",
        )
        columns = ", ".join(f"{column} = NEW.{column}" for column in self.standing)
        yield Effect(
            name=f"{name}_movement_moves",
            table=movement,
            do=f"UPDATE {item} SET {self.state} = (SELECT v.to_state FROM {move} v "
            f"WHERE v.id = NEW.move_id), seq = NEW.seq, {columns} WHERE id = NEW.{self.key}",
        )

    def _changed(self) -> str:
        return " OR ".join(
            [
                *(f"NEW.{one} <> OLD.{one}" for one in (self.state, "seq", "id", *self.texts)),
                *(
                    f"NEW.{one} <> OLD.{one} OR (NEW.{one} IS NULL) <> (OLD.{one} IS NULL)"
                    for one in self.moments
                ),
            ]
        )

    def _same_standing(self) -> str:
        return " AND ".join(
            [
                *(f"m.{one} = NEW.{one}" for one in self.texts),
                *(
                    f"(m.{one} = NEW.{one} OR (m.{one} IS NULL AND NEW.{one} IS NULL))"
                    for one in self.moments
                ),
            ]
        )


_LEDGERS: dict[str, Ledger] = {}


def keep_ledger(app: AppConfig, ledger: Ledger) -> None:
    """Have the database keep the ledger; called when the app is loaded."""
    _LEDGERS[f"{ledger.app}.{ledger.item}"] = ledger
    keep(app, ledger.triggers())

    def fill(*, using: str, **kwargs: Any) -> None:
        if f"{ledger.app}_{ledger.move}" in connections[using].introspection.table_names():
            fill_moves(ledger, using)

    post_migrate.connect(fill, sender=app, weak=False, dispatch_uid=f"moves of {ledger.item}")


Check = Callable[[str], Iterator[str]]
"""From the name of a database to the breaches in it, a line each."""

_MORE: list[str] = []


def verify_too(check: str) -> None:
    """Have `verify_ledger` ask this as well, by its dotted name: for what an app keeps beside its
    ledger.  Called when the app is loaded, before there are models to import."""
    _MORE.append(check)


def more_checks() -> list[Check]:
    return [import_string(name) for name in _MORE]


def ledgers() -> list[Ledger]:
    return list(_LEDGERS.values())


def fill_moves(ledger: Ledger, using: str) -> None:
    """Bring the rows of allowed moves to what the table in code says.

    A row that the code has no more goes, unless a movement refers to it; `verify_ledger` tells.
    """
    moves = ledger.model(ledger.move).objects.using(using)
    there = {row.value(): row.pk for row in moves}
    moves.bulk_create(moves.model.of(move) for move in ledger.moves if move not in there)
    gone = [pk for move, pk in there.items() if move not in ledger.moves]
    used = ledger.model(ledger.movement).objects.using(using).filter(move__in=gone)
    moves.filter(pk__in=gone).exclude(pk__in=used.values("move")).delete()
