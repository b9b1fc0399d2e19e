"""A hundred people at once: how many requests a second, how fast, and how many go wrong.

    .venv/bin/python -m tests.benchmarks.load [seconds]

Makes the demonstration hospital in the database that MUSTER_DATABASE names (an empty one; else a
SQLite file of its own), starts the server as hospitals do (`deploy/serving.py`), and lets PEOPLE
with a session each read and scan, with a second of thought between: seven requests in ten read a
pick list, three scan at it.  Each begins at a moment of their own and, as a browser does, keeps
the connection for the next request.  They are threads of another process on the same cores.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Thread

ROOT = Path(__file__).resolve().parents[2]
PEOPLE, THINK, READS = 100, 1.0, 0.7
WANTED = "80 requests a second, 95 of 100 within 300 ms, none wrong"

HOUSE = """
import json
from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.middleware.csrf import _get_new_csrf_string
from django.test import Client
from deploy.kit.models import Person
from scheduling.models import Case
from scheduling.operations.pick_lists import print_pick_list
by = Person.objects.select_related("user", "site").get(user__username="coordinator")
now = by.site.now()
lists = []
for case in Case.objects.filter(status="booked").order_by("start")[:20]:
    version = print_pick_list(case=case, by=by, now=now)
    lists.append([version.pick_list.code, version.number])
sessions = []
for _ in range({people}):
    browser = Client()
    browser.force_login(by.user)
    sessions.append([browser.cookies["sessionid"].value, _get_new_csrf_string()])
print(json.dumps([lists, sessions]))
"""


class Unix(http.client.HTTPConnection):
    def __init__(self, path: str) -> None:
        super().__init__("localhost", timeout=60)
        self.path = path

    def connect(self) -> None:
        self.sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.sock.settimeout(self.timeout)
        self.sock.connect(self.path)


@dataclass
class Counted:
    """`reads`, `scans`: milliseconds of each request that was answered as it should be."""

    reads: list[float] = field(default_factory=list)
    scans: list[float] = field(default_factory=list)
    wrong: Counter[str] = field(default_factory=Counter)


def person(at: str, number: int, lists: list, session: list, until: float, done: Counted) -> None:
    dice = random.Random(number)
    cookie, token = session
    headers = {
        "Cookie": f"sessionid={cookie}; csrftoken={token}",
        "X-CSRFToken": token,
        "Content-Type": "application/json",
    }
    turn = 0
    time.sleep(dice.random() * THINK)
    with closing(Unix(at)) as there:  # opened anew by itself, where the server has closed it
        while time.monotonic() < until:
            turn += 1
            code, version = dice.choice(lists)
            reads = dice.random() < READS
            began = time.monotonic()
            try:
                if reads:
                    path = f"/api/pick-lists/{code}/versions/{version}/"
                    there.request("GET", path, headers=headers)
                else:
                    said = headers | {"Idempotency-Key": f"{number}-{turn}"}
                    body = {"text": f"REF {number} {turn}", "version": version}
                    path = f"/api/pick-lists/{code}/scans/"
                    there.request("POST", path, json.dumps(body), said)
                response = there.getresponse()
                response.read()
            except (OSError, http.client.HTTPException) as error:
                there.close()
                done.wrong[type(error).__name__] += 1
            else:
                if response.status in (200, 201):
                    took = done.reads if reads else done.scans
                    took.append((time.monotonic() - began) * 1000)
                else:
                    done.wrong[str(response.status)] += 1
            time.sleep(THINK)


@contextmanager
def server(at: str, env: dict[str, str]) -> Iterator[None]:
    command = ["gunicorn", "--config", "python:deploy.serving", "deploy.wsgi"]
    bound = ["--bind", f"unix:{at}"]
    started = subprocess.Popen([sys.executable, "-m", *command, *bound], cwd=ROOT, env=env)
    try:
        while not Path(at).exists():
            if started.poll() is not None:
                raise SystemExit("the server did not start")
            time.sleep(0.1)
        yield
    finally:
        started.terminate()
        started.wait()


def house(env: dict[str, str]) -> tuple[list, list]:
    def manage(*said: str) -> str:
        command = [sys.executable, "manage.py", *said]
        return subprocess.run(
            command, cwd=ROOT, env=env, check=True, stdout=subprocess.PIPE, text=True
        ).stdout

    manage("migrate", "--verbosity=0")
    manage("load_scenario", "fixtures/demonstration.json", "--run-clock")
    manage("make_demo_people")
    last = manage("shell", "--command", HOUSE.format(people=PEOPLE)).splitlines()[-1]
    lists, sessions = json.loads(last)
    return lists, sessions


def main(seconds: float) -> None:
    with tempfile.TemporaryDirectory() as folder:
        env = {
            "MUSTER_DATABASE": f"sqlite:///{folder}/load.sqlite3",
            **os.environ,
            "MUSTER_DEMO": "1",
            "MUSTER_SECRET_KEY": "benchmark",
        }
        lists, sessions = house(env)
        at = f"{folder}/socket"
        with server(at, env):
            done, until = Counted(), time.monotonic() + seconds
            people = [
                Thread(target=person, args=(at, number, lists, session, until, done))
                for number, session in enumerate(sessions)
            ]
            for one in people:
                one.start()
            for one in people:
                one.join()
    took = [*done.reads, *done.scans]
    print(f"{PEOPLE} people, {seconds:g} s: {len(took) / seconds:.0f} requests a second, 95 of 100")
    print(
        f"within {most(took):.0f} ms (reads {most(done.reads):.0f}, scans {most(done.scans):.0f}),"
    )
    print(f"wrong: {dict(done.wrong) or 'none'} (wanted: {WANTED})")


def most(took: list[float]) -> float:
    """Milliseconds within which 95 of 100 were answered."""
    return statistics.quantiles(took, n=20)[-1]


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 60)
