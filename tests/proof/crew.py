"""A crew of processes at one database, started together; each can be killed like any process.

`crew("tests.proof.jobs:reserve", 16, ...)` starts one process, which sets up Django and forks the
crew: a fork of the test's own process would share its connections and threads.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import signal
import subprocess
import sys
import traceback
from pathlib import Path
from typing import Any

import django
from django.db import connection

ROOT = Path(__file__).resolve().parent.parent.parent


def address() -> str:
    """The MUSTER_DATABASE of the database that this test works on."""
    said = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{said['NAME']}"
    return f"postgresql://{said['USER']}@/{said['NAME']}?host={said['HOST']}"


def crew(job: str, workers: int, *, database: str = "", **said: Any) -> list[Any]:
    """What each worker's job returned, in their order; None from one that was killed.

    `job`: `module:function`, called with `number` (0, 1, ...) and `said`, all of it JSON.
    AssertionError, with the worker's trace, where a job fails.
    """
    done = subprocess.run(
        [sys.executable, "-m", "tests.proof.crew", job, str(workers), json.dumps(said)],
        cwd=ROOT,
        env={**os.environ, "MUSTER_DATABASE": database or address()},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def main() -> None:
    job, workers, said = sys.argv[1], int(sys.argv[2]), json.loads(sys.argv[3])
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    django.setup()
    module, name = job.split(":")
    function = getattr(importlib.import_module(module), name)
    gc.collect()
    gc.freeze()  # what is loaded stays, in every worker
    gc.set_threshold(50_000)
    gun, trigger = os.pipe()
    children = []
    for number in range(workers):
        results, result = os.pipe()
        pid = os.fork()
        if not pid:
            os.close(trigger)
            os.close(results)
            os.read(gun, 1)
            _work(function, number, said, result)
        os.close(result)
        children.append((pid, results))
    os.close(trigger)
    failed = [_gather(pid, results) for pid, results in children]
    sys.exit(any(failed))


def _work(function: Any, number: int, said: dict[str, Any], result: int) -> None:
    try:
        with os.fdopen(result, "w") as out:
            json.dump(function(number=number, **said), out)
        os._exit(0)
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
        os._exit(1)


def _gather(pid: int, results: int) -> bool:
    """Print the worker's result, a line; whether it failed of itself."""
    with os.fdopen(results) as lines:
        text = lines.read()
    _, status = os.waitpid(pid, 0)
    was_killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    print("null" if was_killed else text, flush=True)
    return status != 0 and not was_killed


if __name__ == "__main__":
    main()
