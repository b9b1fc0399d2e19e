"""Both lock files, made anew from pyproject.toml: every package pinned, with its hashes.

Needs `uv` on PATH.  No index address goes into the files: whoever installs uses their own.
"""

from __future__ import annotations

import argparse
import shutil
import sys

from deploy.scripts.python_env import DEVELOPMENT, RUNTIME
from deploy.scripts.running import GiveUp, complain, run

COMPILE = (
    *("uv", "pip", "compile", "pyproject.toml", "--quiet", "--no-header"),
    *("--universal", "--python-version", "3.11", "--generate-hashes"),
    *("--no-emit-index-url", "--no-emit-find-links"),
)


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="deploy/lock", description="Make both lock files anew from pyproject.toml."
    )
    parser.add_argument(
        "--upgrade", action="store_true", help="take the newest versions, not those locked now"
    )
    upgrade = ["--upgrade"] if parser.parse_args().upgrade else []
    try:
        if shutil.which("uv") is None:
            raise GiveUp("Locking needs uv: pip install uv")
        run(*COMPILE, *upgrade, "--output-file", RUNTIME)
        # Held to the runtime's versions, so that what is tested is what is run.
        held = ("--group", "dev", "--constraint", str(RUNTIME))
        run(*COMPILE, *upgrade, *held, "--output-file", DEVELOPMENT)
    except GiveUp as fault:
        return complain(fault)
    return 0


if __name__ == "__main__":
    sys.exit(main())
