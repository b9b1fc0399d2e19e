"""Two commands at once, one held after each of its statements in turn while the other goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event
from typing import Any

from django.db import connection

LOOK_EVERY = 0.002
"""Seconds: how soon it is seen that a command waits for the other's lock."""


@dataclass(slots=True)
class Held:
    """Lets `after` statements of its thread pass, then holds the thread until `go`."""

    after: int
    passed: int = 0
    there: Event = field(default_factory=Event)
    go: Event = field(default_factory=Event)

    def __call__(self, execute: Callable[..., Any], *said: Any) -> Any:
        if self.passed == self.after:
            self.there.set()
            self.go.wait()
        self.passed += 1
        return execute(*said)


class Pair:
    """Two threads, each with a connection of its own."""

    def __init__(self, first: ThreadPoolExecutor, second: ThreadPoolExecutor) -> None:
        self.first, self.second = first, second
        self.backend: int = second.submit(_backend).result()

    def interleaved(
        self, one: Callable[[], str], other: Callable[[], str], after: int
    ) -> tuple[str, str, int]:
        """What each said, and how many statements the first took.

        The first is held after so many statements until the other is done or waits for it.
        """
        held = Held(after)
        first = self.first.submit(_watched, one, held)
        while not (held.there.wait(LOOK_EVERY) or first.done()):
            pass
        second = self.second.submit(other)
        while not second.done() and not self._waits():
            _wait(second)
        held.go.set()
        return first.result(), second.result(), held.passed

    def _waits(self) -> bool:
        with connection.cursor() as cursor:
            cursor.execute("SELECT cardinality(pg_blocking_pids(%s)) > 0", [self.backend])
            return bool(cursor.fetchone()[0])


@contextmanager
def two_threads() -> Iterator[Pair]:
    with ThreadPoolExecutor(1) as first, ThreadPoolExecutor(1) as second:
        try:
            yield Pair(first, second)
        finally:
            for thread in (first, second):
                thread.submit(lambda: connection.close()).result()


def _watched(act: Callable[[], str], held: Held) -> str:
    with connection.execute_wrapper(held):
        return act()


def _wait(done: Future[str]) -> None:
    Event().wait(LOOK_EVERY)


def _backend() -> int:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        return int(cursor.fetchone()[0])
