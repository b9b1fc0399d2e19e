"""What a command prints is its own: JSON that is read by a program holds nothing else."""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

OUT, ERRORS = 1, 2


@contextmanager
def output_kept_clean() -> Iterator[None]:
    """What is printed meanwhile goes to the errors, from below Python too: HiGHS now and then
    prints a line whatever it is told (`HighsMipSolverData::transformNewIntegerFeasibleSolution`,
    seen with scipy 1.17).  For a process that does nothing else at the time."""
    sys.stdout.flush()
    kept = os.dup(OUT)
    try:
        os.dup2(ERRORS, OUT)
        yield
    finally:
        sys.stdout.flush()
        ctypes.CDLL(None).fflush(None)
        os.dup2(kept, OUT)
        os.close(kept)
