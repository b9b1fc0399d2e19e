"""Workbooks of 20,000 rows, looked at and written by the command: processor seconds and memory.

    .venv/bin/python -m tests.benchmarks.imports

Makes the demonstration hospital in the database that MUSTER_DATABASE names (an empty one; else a
SQLite file of its own), fills a catalogue and a shelf, and imports each with
`manage.py import_workbook --write` in a process of its own, whose seconds and most memory are
printed; the database's own, where it is a server, are not among them.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROWS = 20_000
KINDS = ("catalogue", "shelf")
WANTED = "20 s, 300 MB"

FILL = """
from datetime import date
from pathlib import Path
from django.contrib.auth.models import Group, User
from deploy.kit.workbooks.writing import write_workbook
from implants.workbooks import catalogue, shelf
# More than 500 rows take a second coordinator.
User.objects.get(username="manager").groups.add(Group.objects.get(name="implant coordinator"))
refs = [f"Q{{number:05}}" for number in range({rows})]
items = [
    {{"REF": ref, "Role": "stem", "Name": "Stem Q", "Maker": "Maker North", "Lead days": 2,
      "Price": 1480, "System": "Q", "Size": 8 + number % 14, "Length (mm)": 190 + number % 7}}
    for number, ref in enumerate(refs)
]
boxes = [
    {{"REF": ref, "LOT": f"L{{number:05}}", "Use by": date(2031, 1 + number % 12, 28),
      "Place": f"A-{{number % 400:03}}", "Owner": "consignment"}}
    for number, ref in enumerate(refs)
]
folder = Path({folder!r})
sheet = {{catalogue.SHEET: items}}
(folder / "catalogue.xlsx").write_bytes(write_workbook(catalogue.Catalogue.spec, sheet))
(folder / "shelf.xlsx").write_bytes(write_workbook(shelf.Shelf.spec, {{shelf.SHEET: boxes}}))
"""


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        env = {
            "MUSTER_DATABASE": f"sqlite:///{folder}/house.sqlite3",
            **os.environ,
            "MUSTER_DEMO": "1",
            "MUSTER_SECRET_KEY": "benchmark",
        }
        make = (sys.executable, "manage.py")
        for command in (
            ("migrate", "--verbosity=0"),
            ("load_scenario", "fixtures/demonstration.json", "--verbosity=0"),
            ("make_demo_people", "--verbosity=0"),
            ("shell", "--command", FILL.format(rows=ROWS, folder=folder)),
        ):
            subprocess.run(
                [*make, *command], cwd=ROOT, env=env, check=True, stdout=subprocess.DEVNULL
            )
        print(f"{ROWS:,} rows; wanted: {WANTED}")
        for kind in KINDS:
            file = str(Path(folder) / f"{kind}.xlsx")
            told = ("--by", "coordinator", "--second", "manager", "--write")
            print(f"{kind}: {imported([*make, 'import_workbook', kind, file, *told], env)}")


def imported(command: list[str], env: dict[str, str]) -> str:
    began = time.monotonic()
    child = subprocess.Popen(
        command, cwd=ROOT, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    )
    assert child.stderr is not None
    said = child.stderr.read()
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(said)
    seconds = used.ru_utime + used.ru_stime
    took = time.monotonic() - began
    # Linux gives KiB.
    return f"{seconds:.1f} s of processor, {took:.1f} s in all, {used.ru_maxrss / 1024:.0f} MB"


if __name__ == "__main__":
    main()
