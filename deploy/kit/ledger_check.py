"""Replay a ledger and tell every breach, without trusting the rules that should prevent it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db import connections

from deploy.kit import guards
from deploy.kit.ledger import NOT_ENTERED, Ledger, ledgers, more_checks

CHUNK = 5_000


def breaches(using: str = "default") -> Iterator[str]:
    """A line for every breach.  A fixed number of queries a ledger; rows are streamed."""
    yield from guards.faults(connections[using])
    for ledger in ledgers():
        yield from _moves(ledger, using)
        yield from replay(ledger, using)
    for check in more_checks():
        yield from check(using)


def _moves(ledger: Ledger, using: str) -> Iterator[str]:
    rows = {row.value() for row in ledger.model(ledger.move).objects.using(using)}
    table = set(ledger.moves)
    for move in sorted(rows - table, key=str):
        yield f"{ledger.item}: the database allows a move that the table has not: {_said(move)}"
    for move in sorted(table - rows, key=str):
        yield f"{ledger.item}: the database lacks a move of the table: {_said(move)}"


def _said(move: Any) -> str:
    return f"{move.kind}, {move.from_state or 'new'} → {move.to_state}"


def replay(ledger: Ledger, using: str) -> Iterator[str]:
    """Each item's movements in order, against each other and against the item; then the sums."""
    standing = ledger.standing
    items = {
        pk: Item(code, tuple(stands))
        for pk, code, *stands in ledger.model(ledger.item)
        .objects.using(using)
        .values_list("pk", "code", ledger.state, "seq", *standing)
    }
    movements = (
        ledger.model(ledger.movement)
        .objects.using(using)
        .order_by(ledger.key, "seq", "pk")
        .values_list(ledger.key, "seq", "move__from_state", "move__to_state", *standing)
        .iterator(chunk_size=CHUNK)
    )
    yield from compare(ledger.item, items, movements)


@dataclass(frozen=True, slots=True)
class Item:
    """`stands`: state, seq, then the standing."""

    code: str
    stands: tuple[Any, ...]


def compare(
    kind: str, items: Mapping[int, Item], movements: Iterable[tuple[Any, ...]]
) -> Iterator[str]:
    """The breaches.  `items` by key; `movements`, in order of key and seq: the item's key, seq,
    from which state, to which, then the standing."""
    replayed: dict[int, str] = {}
    for key, rows in groupby(movements, key=itemgetter(0)):
        item = items.get(key)
        about = f"{kind} {item.code}" if item else f"{kind} with key {key}"
        in_order = list(rows)
        yield from _chain(about, in_order)
        _, seq, _, state, *standing = in_order[-1]
        replayed[key] = state
        if item is None:
            yield f"{about}: has movements and is not there"
        elif item.stands != (state, seq, *standing):
            yield f"{about}: stands otherwise than its last movement says"
    for key, item in items.items():
        if key not in replayed:
            is_new = item.stands[:2] == (NOT_ENTERED, 0)
            yield f"{kind} {item.code}: {'never entered' if is_new else 'has no movement'}"
    yield from _sums(kind, items, Counter(replayed.values()))


def _chain(about: str, rows: Iterable[tuple[Any, ...]]) -> Iterator[str]:
    state, expected = NOT_ENTERED, 1
    for _, seq, from_state, to_state, *_ in rows:
        if seq > expected:
            yield f"{about}: movement {expected} is missing"
        elif seq < expected:
            yield f"{about}: movement {seq} is there twice"
        elif from_state != state:
            yield f"{about}: movement {seq} leaves “{from_state}”, but it was “{state}”"
        state, expected = to_state, seq + 1


def _sums(kind: str, items: Mapping[int, Item], replayed: Counter[str]) -> Iterator[str]:
    """Nothing appears and nothing vanishes: what entered is what stands, state by state."""
    standing = Counter(item.stands[0] for item in items.values())
    del standing[NOT_ENTERED]
    if standing.total() != replayed.total():
        yield f"{kind}: {replayed.total()} entered, {standing.total()} stand somewhere"
    for state in sorted(standing | replayed):
        if standing[state] != replayed[state]:
            yield f"{kind}: {standing[state]} stand “{state}”, {replayed[state]} by the ledger"
