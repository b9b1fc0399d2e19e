"""The browser that tests and the tour's pictures use: the machine's own Chromium."""

from __future__ import annotations

import os
import shutil

from deploy.scripts.packages import install
from deploy.scripts.running import GiveUp

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")

MISSING = (
    "The browser tests need Chromium, and there is none on PATH.\n"
    "On Debian: apt-get install chromium.  Elsewhere: set CHROMIUM to the program's path."
)

ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
)
"""Quiet: only the pages under test, and nothing fetched on the side.  Without the sandbox it runs
as root too; it is shown nothing but our own pages."""


def find_chromium() -> str:
    """The program's path; GiveUp where there is none."""
    said = os.environ.get("CHROMIUM")
    found = shutil.which(said) if said else next(filter(None, map(shutil.which, NAMES)), None)
    if found is None:
        raise GiveUp(f"CHROMIUM names no program: {said}" if said else MISSING)
    return found


def ensure_chromium() -> str:
    """The program's path, installed if need be; GiveUp where that can't be done."""
    if os.environ.get("CHROMIUM") is None and not any(map(shutil.which, NAMES)):
        install("chromium", otherwise=MISSING)
    return find_chromium()
