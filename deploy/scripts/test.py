"""Every check of the project, as `deploy/test` and CI run it.

Style, types, settings and migrations; then all tests on SQLite, and those to which the database
matters once more on PostgreSQL, in a cluster of this run alone.  What is missing (PostgreSQL, a
browser) is installed where that is allowed and is a failure where it is not: never a skip.
"""

from __future__ import annotations

import argparse
import secrets
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from deploy.scripts.audit import audit
from deploy.scripts.browser import ensure_chromium
from deploy.scripts.postgres import private_postgres
from deploy.scripts.python_env import DEVELOPMENT, ensure
from deploy.scripts.running import GiveUp, clean_environment, complain, duration, outcome, succeeds

WORKERS = ("-n", "2", "--dist", "worksteal")
"""Two cores are what the smallest machine has; each worker has its own database and browser."""

DEPLOY = ("check", "--deploy", "--fail-level", "WARNING")


@dataclass(frozen=True, slots=True)
class Result:
    """One check: what it was, whether it passed (None: it could not be made), how long it took,
    and what it counted."""

    name: str
    passed: bool | None
    seconds: float
    counted: str = ""


def timed(name: str, check: Callable[[], tuple[bool | None, str]]) -> Result:
    print(f"\n== {name}", flush=True)
    start = time.monotonic()
    passed, counted = check()
    return Result(name, passed, time.monotonic() - start, counted)


def still_checks(python: Path) -> list[Result]:
    """What is checked without running the program; the types, which take longest, beside the
    others."""
    production = clean_environment(
        MUSTER_SECRET_KEY=secrets.token_urlsafe(48),
        MUSTER_HOSTS="muster.example",
        MUSTER_HTTPS="1",
    )
    manage = (python, "-W", "error", "manage.py")
    plain = clean_environment()
    ruff, manage = (python, "-m", "ruff"), (python, "-W", "error", "manage.py")

    def check(name: str, *command: str | Path, env: dict[str, str] = plain) -> Result:
        start = time.monotonic()
        passed, said = outcome(*command, env=env)
        print(f"\n== {name}\n{said}", end="", flush=True)
        return Result(name, passed, time.monotonic() - start)

    with ThreadPoolExecutor() as beside:
        types = beside.submit(check, "types", python, "-m", "mypy")
        others = [
            check("lint", *ruff, "check", "."),
            check("format", *ruff, "format", "--check", "."),
            check("production settings", *manage, *DEPLOY, env=production),
            check("migrations", *manage, "makemigrations", "--check", "--dry-run"),
            timed("known weaknesses", lambda: audit(python)),
        ]
        return [types.result(), *others]


def tests(python: Path, chromium: str, vendor: str, *more: str, **env: str) -> Result:
    """All tests on one database; a skipped one counts as failed."""

    def check() -> tuple[bool, str]:
        with tempfile.TemporaryDirectory() as folder:
            report = Path(folder) / "report.xml"
            passed = succeeds(
                *(python, "-m", "pytest", *WORKERS, "--durations=5", f"--junit-xml={report}"),
                *more,
                env=clean_environment(CHROMIUM=chromium, MUSTER_EXPECT_VENDOR=vendor, **env),
            )
            if not report.exists():
                return False, "pytest did not finish"
            ran, skipped = count(report)
        if skipped:
            print(f"{skipped} tests were skipped: here that is a failure.", flush=True)
        return passed and ran > 0 and not skipped, f"{ran} tests"

    return timed(f"tests on {vendor}", check)


def count(report: Path) -> tuple[int, int]:
    """How many tests a JUnit report tells of, and how many of them were skipped."""
    suites = list(ElementTree.parse(report).getroot().iter("testsuite"))
    return (
        sum(int(suite.get("tests", 0)) for suite in suites),
        sum(int(suite.get("skipped", 0)) for suite in suites),
    )


def pytest_alone(python: Path, arguments: list[str], vendor: str, **env: str) -> int:
    env = clean_environment(MUSTER_EXPECT_VENDOR=vendor, **env)
    return 0 if succeeds(python, "-m", "pytest", *arguments, env=env) else 1


def every_check(python: Path, chromium: str) -> list[Result]:
    results = still_checks(python)
    results.append(tests(python, chromium, "sqlite"))
    with private_postgres() as database:
        results.append(
            tests(python, chromium, "postgresql", "--database-only", MUSTER_DATABASE=database)
        )
    return results


SAID = {True: "passed", False: "FAILED", None: "–"}


def table(results: list[Result], seconds: float) -> str:
    lines = [
        f"{SAID[result.passed]:<8}{result.name:<22}"
        f"{duration(result.seconds):<14}{result.counted}".rstrip()
        for result in results
    ]
    failed = sum(result.passed is False for result in results)
    unmade = [result.name for result in results if result.passed is None]
    verdict = f"{failed} of {len(results)} checks failed" if failed else "all checks passed"
    verdict += f" but these, which could not be made: {', '.join(unmade)}" if unmade else ""
    return "\n".join(["", *lines, f"{verdict}, in {duration(seconds)}"])


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="deploy/test",
        usage="deploy/test [[--postgresql] PYTEST-ARGUMENT ...]",
        description="Without arguments: every check, on SQLite and PostgreSQL. With arguments: "
        "pytest alone, with these (deploy/test tests/deploy -k imports), on SQLite or, where "
        "that is the first, on PostgreSQL.",
        epilog="CHROMIUM names the browser, PG_BINDIR the folder of PostgreSQL's programs, where "
        "they are not found by themselves.",
        allow_abbrev=False,
    )
    parser.add_argument("--postgresql", action="store_true", help="pytest alone, on PostgreSQL")
    chosen, arguments = parser.parse_known_args()
    # A run that is ended must take its PostgreSQL with it.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("ended"))
    start = time.monotonic()
    try:
        python = ensure(DEVELOPMENT)
        if chosen.postgresql:
            with private_postgres() as database:
                return pytest_alone(python, arguments, "postgresql", MUSTER_DATABASE=database)
        if arguments:
            return pytest_alone(python, arguments, "sqlite")
        results = every_check(python, ensure_chromium())
    except GiveUp as fault:
        return complain(fault)
    print(table(results, time.monotonic() - start), flush=True)
    return 0 if all(result.passed is not False for result in results) else 1


if __name__ == "__main__":
    sys.exit(main())
