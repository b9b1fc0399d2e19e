"""Programs that tests need and that Python's packages don't bring."""

from __future__ import annotations

import os
import shutil

from deploy.scripts.running import GiveUp, clean_environment, run


def install(package: str, *, otherwise: str) -> None:
    """Install Debian's package where this machine lets us; else GiveUp with what to do."""
    if os.geteuid() != 0 or shutil.which("apt-get") is None:
        raise GiveUp(otherwise)
    env = clean_environment(DEBIAN_FRONTEND="noninteractive")
    run("apt-get", "update", "--quiet", env=env)
    run("apt-get", "install", "--yes", "--quiet", "--no-install-recommends", package, env=env)
