"""Whether a package of the lock has a known weakness: asked of the advisories' index by pip-audit.

Where the index does not answer, the answer is "not audited", which is neither passed nor failed.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from textwrap import shorten

from deploy.scripts.python_env import RUNTIME
from deploy.scripts.running import ROOT, clean_environment

Answer = tuple[bool | None, str]
"""Passed, failed or (None) not audited; and what to say."""


def audit(python: Path) -> Answer:
    asked = subprocess.run(
        (python, "-m", "pip_audit", "--strict", "--disable-pip", "--require-hashes",
         "--format=json", "--progress-spinner=off", "--timeout=15", f"--requirement={RUNTIME}"),
        cwd=ROOT, env=clean_environment(), check=False, capture_output=True, text=True,
    )  # fmt: skip
    return judged(asked.stdout, asked.stderr)


def judged(said: str, complained: str) -> Answer:
    """From pip-audit's JSON.  It ends alike for a weakness and for a missing answer."""
    try:
        packages = json.loads(said)["dependencies"]
    except (ValueError, KeyError, TypeError):
        last = (complained.strip().splitlines() or ["no answer"])[-1]
        return None, f"not audited: {shorten(last, 100, placeholder=' …')}"
    skipped = [package["name"] for package in packages if "skip_reason" in package]
    if skipped or not packages:
        return None, f"not audited: {', '.join(skipped) or 'no packages'}"
    weak = [
        f"{package['name']} {package['version']}: {weakness['id']}"
        for package in packages
        for weakness in package["vulns"]
    ]
    return not weak, "; ".join(weak) or f"{len(packages)} packages"
