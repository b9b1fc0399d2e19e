"""`python -m tests.benchmarks [plot.png]`: all figures, peers in the same run, and a plot."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.benchmarks import boxes, growth, sets

if __name__ == "__main__":
    to = Path(sys.argv[1] if len(sys.argv) > 1 else "engine-time.png")
    growth.run(to)
    boxes.run()
    sets.run()
