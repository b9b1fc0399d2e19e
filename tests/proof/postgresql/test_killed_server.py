"""kill -9 of PostgreSQL under eight writers: what it acknowledged is there when it is up again.

A cluster of its own, with fsync on.  The longer run:
LONGER=1 deploy/test --postgresql tests/proof/postgresql/test_killed_server.py
"""

from __future__ import annotations

import os
import pwd
import signal
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event

import psycopg
import pytest
from django.core.management import call_command

from deploy.scripts.postgres import account, ensure_programs, private_postgres
from tests import factories
from tests.proof.crew import ROOT, crew
from tests.proof.figures import size

pytestmark = pytest.mark.django_db(transaction=True)

WRITERS, BOXES = 8, 50
KILLS = 2
ENOUGH = size(20_000, 100_000)
MARGIN = WRITERS * BOXES
"""What may be there without having been acknowledged."""


class Cluster:
    def __init__(self, database: str) -> None:
        self.database = database
        self.folder = Path(database.partition("host=")[2])
        self.data = self.folder / "data"

    def ask(self, query: str) -> list[tuple[object, ...]]:
        with psycopg.connect(f"user=muster dbname=muster host={self.folder}") as there:
            return there.execute(query).fetchall()

    def manage(self, *said: str) -> str:
        done = subprocess.run(
            [sys.executable, "manage.py", *said],
            cwd=ROOT,
            env={**os.environ, "MUSTER_DATABASE": self.database},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def kill(self) -> None:
        pid = int((self.data / "postmaster.pid").read_text().split()[0])
        os.kill(pid, signal.SIGKILL)

    def start(self) -> None:
        """Its other processes go when they miss the killed one; till then it does not start."""
        owner = account()
        options = (self.data / "postmaster.opts").read_text().split(" ", 1)[1].replace('"', "")
        for _ in range(50):
            done = subprocess.run(
                [
                    ensure_programs() / "pg_ctl",
                    *("--pgdata", self.data, "--wait", "--log", self.folder / "log-again"),
                    *("--options", options, "start"),
                ],
                cwd=self.folder,
                user=owner,
                group=None if owner is None else pwd.getpwnam(owner).pw_gid,
                extra_groups=None if owner is None else [],
                # Not a pipe: the server would inherit it, and keep us waiting for its end.
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                check=False,
            )
            if done.returncode == 0:
                return
            Event().wait(0.2)
        raise AssertionError((self.folder / "log-again").read_text())


@pytest.fixture
def cluster(site, coordinator, tmp_path) -> Iterator[Cluster]:
    """A copy of the test's database, in a cluster that takes care."""
    implant = factories.implant(site)
    for writer in range(WRITERS):
        for box in range(BOXES):
            factories.unit(implant, f"W{writer}-{box:02}")
    call_command("back_up", tmp_path / "copy", verbosity=0)
    with private_postgres(careless=False) as database:
        made = Cluster(database)
        with psycopg.connect(f"user=muster dbname=postgres host={made.folder}") as first:
            first.autocommit = True
            first.execute("CREATE DATABASE muster")
        made.manage("restore", str(tmp_path / "copy"))
        yield made


def test_what_was_acknowledged_is_there(cluster, figures):
    acknowledged = lost = unexplained = 0
    there = "SELECT id, seq FROM implants_unit"
    count = "SELECT COUNT(*) FROM implants_unitmovement"
    for _ in range(KILLS):
        before = dict(cluster.ask(there))
        enough = cluster.ask(count)[0][0] + ENOUGH // KILLS + MARGIN
        with ThreadPoolExecutor(1) as elsewhere:
            writers = elsewhere.submit(
                crew,
                "tests.proof.postgresql.writing:write_until_it_dies",
                WRITERS,
                database=cluster.database,
                boxes=BOXES,
            )
            while cluster.ask(count)[0][0] < enough and not writers.done():
                Event().wait(0.05)
            cluster.kill()
            told = {int(pk): seq for one in writers.result() for pk, seq in one.items()}
        cluster.start()
        after = dict(cluster.ask(there))
        acknowledged += sum(seq - before[pk] for pk, seq in told.items())
        lost += sum(max(0, seq - after[pk]) for pk, seq in told.items())
        unexplained += sum(after[pk] - seq not in (0, 1) for pk, seq in told.items())
    figures(
        "kill -9 of PostgreSQL under 8 writers",
        kills=KILLS,
        acknowledged=acknowledged,
        lost=lost,
    )
    assert (lost, unexplained) == (0, 0)
    assert acknowledged >= ENOUGH
    assert cluster.manage("verify_ledger").startswith("whole: ")
