"""A whole copy of the database in one file, with its rules, and back.

Copying a live SQLite file keeps what was there before the log, or nothing: SQLite's own backup
reads a consistent state while others write, and so does pg_dump.  `loaddata` is no restore, for the
rules refuse it.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

from django.db.backends.base.base import BaseDatabaseWrapper


class BackupFault(Exception):
    """What is wrong, and what to do about it."""


def back_up(connection: BaseDatabaseWrapper, file: Path) -> None:
    """Write the copy; what is there under that name is never overwritten.

    The name appears when the copy is whole: a copy that was broken off is `FILE.part`.
    """
    if file.exists():
        raise BackupFault(f"{file} is there already: choose another name.")
    part = file.with_name(f"{file.name}.part")
    part.unlink(missing_ok=True)
    if connection.vendor == "sqlite":
        with (
            closing(sqlite3.connect(connection.settings_dict["NAME"])) as live,
            closing(sqlite3.connect(part)) as copy,
        ):
            live.backup(copy)
    else:
        _run(connection, "pg_dump", "--format=custom", "--no-owner", f"--file={part}")
    part.rename(file)


def restore(connection: BaseDatabaseWrapper, file: Path) -> None:
    """Bring the copy into an empty database; all of it, or nothing."""
    if not file.exists():
        raise BackupFault(f"{file} is not there.")
    if connection.introspection.table_names():
        raise BackupFault("The database is not empty: a copy is restored into a new one only.")
    connection.close()
    if connection.vendor == "sqlite":
        with (
            closing(sqlite3.connect(f"file:{file.resolve()}?mode=ro", uri=True)) as copy,
            closing(sqlite3.connect(connection.settings_dict["NAME"])) as new,
        ):
            copy.backup(new)
    else:
        name = f"--dbname={connection.settings_dict['NAME']}"
        _run(
            connection,
            *("pg_restore", "--single-transaction", "--exit-on-error", "--no-owner", name, file),
        )


def _run(connection: BaseDatabaseWrapper, program: str, *said: str | Path) -> None:
    there = connection.settings_dict
    named = {
        "PGDATABASE": there["NAME"],
        "PGUSER": there["USER"],
        "PGPASSWORD": there["PASSWORD"],
        "PGHOST": there["HOST"],
        "PGPORT": str(there["PORT"]),
    }
    found = shutil.which(program, path=os.environ.get("PG_BINDIR") or os.environ.get("PATH"))
    if found is None:
        raise BackupFault(f"{program} is not here: install PostgreSQL's client programs.")
    done = subprocess.run(
        [found, *said],
        env={**os.environ, **{name: value for name, value in named.items() if value}},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        raise BackupFault(f"{program} failed: {done.stderr.strip()}")
