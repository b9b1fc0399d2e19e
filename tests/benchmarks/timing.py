"""What a call takes: processor seconds of this process, the best of a few, so that a busy machine
disturbs little; and the largest memory that the process has had."""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from typing import TypeVar

Answer = TypeVar("Answer")


def timed(call: Callable[[], Answer], times: int = 1) -> tuple[float, Answer]:
    """The fewest seconds of several calls, and the answer of the last."""
    best = float("inf")
    for _ in range(times):
        began = time.process_time()
        answer = call()
        best = min(best, time.process_time() - began)
    return best, answer


def peak_megabytes() -> float:
    """The most memory that the process has had so far (Linux: ru_maxrss is in KiB)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
