"""kill -9 of the server while boxes are scanned and kept from use: the records are whole, and what
was not answered is sent again, to its one effect.

The longer run: LONGER=1 deploy/test tests/proof/test_killed_web_server.py
"""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from pathlib import Path
from threading import Event

import pytest
from django.conf import settings
from django.middleware.csrf import _get_new_csrf_string
from django.urls import reverse

from deploy.kit.ledger_check import breaches
from implants.models import UnitMovement
from scheduling.models import Scan
from scheduling.operations.pick_lists import print_pick_list
from tests import factories
from tests.factories import NOW
from tests.proof.crew import ROOT, address
from tests.proof.figures import size
from tests.scheduling.pick_lists.house import house

pytestmark = pytest.mark.django_db(transaction=True)

KILLS, REQUESTS, HANDS = size(3, 50), 60, 4


class Unix(http.client.HTTPConnection):
    """To a server at a socket in a folder: no port can be taken."""

    def __init__(self, path: str) -> None:
        super().__init__("localhost", timeout=30)
        self.path = path

    def connect(self) -> None:
        self.sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.sock.settimeout(self.timeout)
        self.sock.connect(self.path)


@contextmanager
def server(at: str) -> Iterator[subprocess.Popen[bytes]]:
    """The server as it is where people work, up; killed at the end, if it was not before."""
    gunicorn = ["gunicorn", "--config", "python:deploy.serving", "deploy.wsgi", "-w", "2"]
    started = subprocess.Popen(
        [sys.executable, "-m", *gunicorn, "--bind", f"unix:{at}"],
        cwd=ROOT,
        env={
            **os.environ,
            "MUSTER_DATABASE": address(),
            "MUSTER_SECRET_KEY": settings.SECRET_KEY,
            # The house of the tests has a clock of its own, which elsewhere no server starts with.
            "MUSTER_DEMO": "1",
        },
        start_new_session=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        while started.poll() is None and not is_up(at):
            Event().wait(0.1)
        assert started.poll() is None, "the server did not start"
        yield started
    finally:
        if started.poll() is None:
            os.killpg(started.pid, signal.SIGKILL)
        started.wait()


def is_up(at: str) -> bool:
    try:
        with closing(Unix(at)) as there:
            there.request("GET", "/health/")
            return there.getresponse().status == 200
    except OSError:
        return False


@pytest.fixture
def post(site, coordinator, client_of):
    """Post the request of a number; its status, or None where no answer came."""
    of = house(site)
    code = print_pick_list(case=of.case, by=coordinator, now=NOW).pick_list.code
    for number in range(KILLS * REQUESTS):
        factories.unit(of.stem, f"K{number}", serial=f"K{number}")
    token = _get_new_csrf_string()
    session = client_of(coordinator).cookies["sessionid"].value
    headers = {
        "Content-Type": "application/json",
        "Cookie": f"sessionid={session}; csrftoken={token}",
        "X-CSRFToken": token,
    }

    def post(at: str, number: int) -> int | None:
        if number % 2:
            path = reverse("api_scans", args=[code])
            body = {"text": ["S1", "BASE/1", f"rubbish {number}"][number % 3], "version": 1}
        else:
            path = reverse("api_unit_quarantine", args=[f"K{number}"])
            body = {"reason": "dropped", "seq": 1}
        try:
            with closing(Unix(at)) as there:
                said = headers | {"Idempotency-Key": f"request-{number}"}
                there.request("POST", path, json.dumps(body), said)
                response = there.getresponse()
                response.read()
                return response.status
        except (OSError, http.client.HTTPException):
            return None

    return post


def test_a_killed_server_leaves_whole_records(post, figures):
    unanswered = 0
    with tempfile.TemporaryDirectory(dir="/tmp") as folder:
        for kill in range(KILLS):
            at = str(Path(folder) / f"{kill}")
            numbers = range(kill * REQUESTS, (kill + 1) * REQUESTS)
            answered: dict[int, int | None] = {}
            with server(at) as started, ThreadPoolExecutor(HANDS) as hands:

                def scan(number: int, at: str = at, answered: dict = answered) -> None:
                    answered[number] = post(at, number)

                sent = [hands.submit(scan, number) for number in numbers]
                while sum(status is not None for status in answered.copy().values()) < REQUESTS / 3:
                    Event().wait(0.005)
                os.killpg(started.pid, signal.SIGKILL)
                for one in sent:
                    one.result()
            lost = [number for number, status in answered.items() if status is None]
            unanswered += len(lost)
            assert list(breaches()) == []
            with server(f"{at}-again"):
                assert {post(f"{at}-again", number) for number in lost} <= {201}
    effects = Scan.objects.count() + UnitMovement.objects.filter(move__kind="quarantine").count()
    requests = KILLS * REQUESTS
    figures(
        "kill -9 of the server while scanning",
        kills=KILLS,
        requests=requests,
        unanswered=unanswered,
        effects=effects,
        doubled_or_lost=abs(effects - requests),
    )
    assert unanswered > 0
    assert effects == requests
    assert list(breaches()) == []
