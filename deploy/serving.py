"""gunicorn's configuration: where people work, for the demonstration and for the benchmark of load.

    gunicorn --config python:deploy.serving deploy.wsgi

All of it can be said otherwise on the command line, after `--config`.
"""

from __future__ import annotations

import os
from typing import Any

# Of many threads in one worker each waits for the others' Python at every row that it reads; and
# on SQLite whoever writes would let all other writers wait for that too.
workers, threads = 2 * (os.cpu_count() or 1), 2
# Read once, before the workers part: the address opens when all of them can answer, a worker that
# takes the place of another answers at once, and what none of them changes is in memory once.
preload_app = True
loglevel = "warning"
control_socket_disable = True
bind = os.environ.get("MUSTER_BIND", "127.0.0.1:8000")


def when_ready(server: Any) -> None:
    """The last words of the demonstration's start: the address is open now."""
    if welcome := os.environ.get("MUSTER_WELCOME"):
        print(welcome, flush=True)
