"""gunicorn's configuration for the demonstration; reads what `demo.py` put into the environment."""

from __future__ import annotations

import os
from typing import Any

workers = 2
threads = 4
loglevel = "warning"
control_socket_disable = True
bind = os.environ.get("MUSTER_BIND", "127.0.0.1:8000")


def when_ready(server: Any) -> None:
    """The last words of the start: the address is open now."""
    print(os.environ.get("MUSTER_WELCOME", ""), flush=True)
