"""The pictures of README.md's tour: the demonstration is served, and a browser walks through it."""

from __future__ import annotations

import subprocess
import sys

from deploy.scripts.browser import ensure_chromium
from deploy.scripts.demo import PICK_LIST
from deploy.scripts.python_env import DEVELOPMENT, ensure
from deploy.scripts.running import ROOT, GiveUp, clean_environment, complain, run

PORT = "8019"


def main() -> int:
    try:
        python = ensure(DEVELOPMENT)
        env = clean_environment(CHROMIUM=ensure_chromium())
        demonstration = (python, "-m", "deploy.scripts.demo", "--port", PORT)
        with subprocess.Popen(demonstration, cwd=ROOT, stdout=subprocess.PIPE, text=True) as server:
            try:
                wait_until_served(server)
                address = f"http://127.0.0.1:{PORT}"
                run(python, "-m", "deploy.tour.pictures", address, PICK_LIST, env=env)
            finally:
                server.terminate()
    except GiveUp as fault:
        return complain(fault)
    return 0


def wait_until_served(server: subprocess.Popen[str]) -> None:
    """GiveUp where the demonstration ends before it says where it is."""
    for line in server.stdout or ():
        if line.startswith("at http"):
            return
    raise GiveUp("The demonstration did not start; deploy/demo says why.")


if __name__ == "__main__":
    sys.exit(main())
