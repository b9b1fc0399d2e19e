"""SQLite's write-ahead log, cut off or torn at 1,000 random places, as a power cut leaves it: what
is read is exactly what stood after the last commit that is whole before that place.

The longer run: LONGER=1 deploy/test tests/proof/test_torn_log.py
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import struct
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from tests.proof.crew import ROOT, crew
from tests.proof.figures import size
from tests.proof.jobs_wal import state_of

PLACES = size(1_000, 20_000)
COMMITS = 40
HEADER, FRAME_HEADER = 32, 24

SET_UP = """
import django; django.setup()
from deploy.kit.models import Site
from tests import factories
site = Site.objects.create(code="ottermere", name="Ottermere General", clock_set_to=factories.NOW)
factories.person(site, "coordinator", "implant coordinator")
implant = factories.implant(site)
for number in range(20): factories.unit(implant, f"U{number}")
"""


@pytest.fixture(scope="module")
def written(
    migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, list[str]]:
    """A database with all its commits in the log, and what stood after each of them."""
    folder = tmp_path_factory.mktemp("log")
    file = Path(shutil.copy(migrated_sqlite, folder / "house.sqlite3"))
    database = f"sqlite:///{file}"
    subprocess.run(
        [sys.executable, "-c", SET_UP],
        cwd=ROOT,
        env={"MUSTER_DATABASE": database, "DJANGO_SETTINGS_MODULE": "deploy.settings"},
        check=True,
    )
    # Another connection keeps the log from being taken up when the writer is done.
    keeper = sqlite3.connect(file)
    keeper.execute("SELECT COUNT(*) FROM implants_unit").fetchone()
    (noted,) = crew("tests.proof.jobs_wal:write_and_note", 1, database=database, commits=COMMITS)
    for suffix in ("", "-wal"):
        shutil.copy(f"{file}{suffix}", folder / f"kept{suffix}")
    keeper.close()
    return folder / "kept", noted


def ends_of_commits(log: bytes) -> list[int]:
    """Where each commit ends in the log.  The file format: https://www.sqlite.org/fileformat2.html,
    section 4; a frame with a database size ends a commit."""
    (page,) = struct.unpack(">I", log[8:12])
    step = FRAME_HEADER + page
    return [
        place + step
        for place in range(HEADER, len(log) - step + 1, step)
        if struct.unpack(">I", log[place + 4 : place + 8])[0]
    ]


def opened(folder: Path, base: Path, log: bytes) -> str:
    """What is read from the base with that log."""
    file = folder / "torn.sqlite3"
    for old in folder.glob("torn.sqlite3*"):
        old.unlink()
    shutil.copy(base, file)
    Path(f"{file}-wal").write_bytes(log)
    there = sqlite3.connect(file)
    try:
        return state_of(there)
    finally:
        there.close()


def test_a_cut_or_torn_log_gives_a_committed_state(written, tmp_path, figures):
    base, noted = written
    log = Path(f"{base}-wal").read_bytes()
    ends = ends_of_commits(log)
    assert len(ends) == COMMITS
    dice = random.Random(1)
    counted: Counter[str] = Counter()
    wrong = []
    for _ in range(PLACES):
        place = dice.randrange(len(log))
        how = dice.choice(("cut", "torn"))
        rest = b"" if how == "cut" else dice.randbytes(min(4096, len(log) - place))
        if rest and rest == log[place : place + len(rest)]:
            continue
        damaged = log[:place] + rest + (log[place + len(rest) :] if rest else b"")
        whole = sum(end <= place for end in ends)
        if opened(tmp_path, base, damaged) != noted[whole]:
            wrong.append((how, place, whole))
        counted[how] += 1
    figures("SQLite log cut or torn", **counted, commits=COMMITS, wrong=len(wrong))
    assert wrong == []


def test_without_damage_every_commit_is_there(written, tmp_path):
    base, noted = written
    assert opened(tmp_path, base, Path(f"{base}-wal").read_bytes()) == noted[-1]
    assert len(set(noted)) == COMMITS + 1
