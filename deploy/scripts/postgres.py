"""A PostgreSQL of one run alone: made, used through a socket of its own, and removed."""

from __future__ import annotations

import os
import pwd
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from deploy.scripts.packages import install
from deploy.scripts.running import GiveUp, clean_environment, output

OLDEST = 15
MISSING = (
    "The tests need PostgreSQL 15 or later, and its initdb is not here.\n"
    "On Debian: apt-get install postgresql.  Elsewhere: set PG_BINDIR to its programs' folder."
)

# No TCP at all, so no port can be taken; the number only names the socket in our own folder.
OPTIONS = (
    "-c listen_addresses='' -c port=5432 -c max_connections=100 "
    "-c unix_socket_directories='{folder}'"
)
# A cluster that is thrown away needs no care for power cuts.
CARELESS = " -c fsync=off -c full_page_writes=off -c synchronous_commit=off"


def find_programs() -> Path | None:
    """The folder of initdb and pg_ctl: PG_BINDIR, Debian's newest, or PATH."""
    said = os.environ.get("PG_BINDIR")
    if said:
        if not (Path(said) / "initdb").exists():
            raise GiveUp(f"PG_BINDIR holds no initdb: {said}")
        return Path(said)
    debian = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"),
        key=lambda program: float(program.parent.parent.name),
    )
    on_path = shutil.which("initdb")
    if debian:
        return debian[-1].parent
    return Path(on_path).resolve().parent if on_path else None


def ensure_programs() -> Path:
    """As `find_programs`, installed if need be; GiveUp where there are none, or too old ones."""
    programs = find_programs()
    if programs is None:
        install("postgresql", otherwise=MISSING)
        programs = find_programs()
    if programs is None:
        raise GiveUp(MISSING)
    version = output(programs / "initdb", "--version").strip()
    number = re.search(r"(\d+)", version)
    if number is None or int(number[1]) < OLDEST:
        raise GiveUp(f"PostgreSQL {OLDEST} or later is needed; {programs} holds: {version}")
    return programs


@contextmanager
def private_postgres(*, careless: bool = True) -> Iterator[str]:
    """Yield the MUSTER_DATABASE of a fresh cluster.  Up in about a second, gone afterwards.

    `careless`: a power cut may cost it everything; it is faster.
    """
    programs = ensure_programs()
    owner = account()
    # A socket's path holds some 100 characters, and TMPDIR may be longer.
    folder = Path(tempfile.mkdtemp(prefix="muster-pg-", dir="/tmp"))
    data = folder / "data"

    def as_owner(*command: str | Path) -> None:
        done = subprocess.run(
            command,
            cwd=folder,
            env=clean_environment(LC_ALL="C", HOME=str(folder)),
            user=owner,
            group=None if owner is None else pwd.getpwnam(owner).pw_gid,
            extra_groups=None if owner is None else [],
            check=False,
            text=True,
            stdout=log,
            stderr=subprocess.STDOUT,
        )
        if done.returncode != 0:
            raise GiveUp(f"{(folder / 'log').read_text()}PostgreSQL: {command[0]} failed.")

    try:
        if owner is not None:
            shutil.chown(folder, owner)
        with (folder / "log").open("w") as log:
            # The C order of texts is SQLite's too, so both runs see the same lists.
            as_owner(
                programs / "initdb",
                "--pgdata",
                data,
                "--username=muster",
                "--auth=trust",
                "--encoding=UTF8",
                "--no-locale",
                "--no-sync",
            )
            control = (programs / "pg_ctl", "--pgdata", data, "--wait")
            options = OPTIONS.format(folder=folder) + (CARELESS if careless else "")
            as_owner(*control, "--options", options, "start")
            try:
                yield f"postgresql://muster@/muster?host={folder}"
            finally:
                as_owner(*control, "--mode=immediate", "stop")
    finally:
        shutil.rmtree(folder)


def account() -> str | None:
    """Whom the server runs as: None for ourselves; it refuses root, so there `postgres`."""
    if os.geteuid() != 0:
        return None
    try:
        return pwd.getpwnam("postgres").pw_name
    except KeyError:
        raise GiveUp(
            "PostgreSQL does not run as root, and there is no user postgres to run it as:\n"
            "run this as another user, or install Debian's package postgresql."
        ) from None
