"""Python's cyclic garbage collector, held off while a decision is made.

A decision makes some hundred thousand values, next to none of them in a cycle.  The collector
would look through all of them again and again, and through everything else that the process holds:
measured, a quarter of the time for one site, a third beside twenty others.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

_held_off = Lock()


@contextmanager
def collector_held_off() -> Iterator[None]:
    """For one thread at a time: another that comes meanwhile works with the collector as it is.

    So it is on again after each, however many threads decide one after another: waste in cycles,
    made elsewhere, is collected between two decisions at the latest.
    """
    if not gc.isenabled() or not _held_off.acquire(blocking=False):
        yield
        return
    try:
        gc.disable()
        yield
    finally:
        gc.enable()
        _held_off.release()
