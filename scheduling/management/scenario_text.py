"""What the commands about scenarios share: the file, the site, and the way to refuse."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.core.management.base import OutputWrapper

from deploy.kit.models import Site
from scheduling.coverage.scenario_json import ScenarioFaults, read_scenario
from scheduling.coverage.values import Scenario
from scheduling.scenario_files import NotEmpty

REFUSED = 2
"""Exit status of a file or a request that is refused: nothing was done."""


class NoSuchSite(Exception):
    """The site that is asked for is not there, or has to be named."""


class NoSuchCase(Exception):
    """A case that is asked for is not booked."""

    def __init__(self, ref: str) -> None:
        super().__init__(f"no booked case {ref!r}")


def scenario_in(name: str) -> Scenario:
    """The scenario in a file, or on the standard input for `-`.  Raises ScenarioFaults."""
    try:
        data = sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as error:
        raise ScenarioFaults([f"{name}: cannot be read: {error.strerror or error}"]) from error
    except ValueError as error:
        raise ScenarioFaults([f"{name!r}: not the name of a file"]) from error
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ScenarioFaults([f"line {line}: not UTF-8"]) from error
    return read_scenario(text)


def site_called(code: str | None) -> Site:
    """The site with the code, or the only one.  One query.  Raises NoSuchSite."""
    sites = {site.code: site for site in Site.objects.order_by("code")}
    if not sites:
        raise NoSuchSite("the database holds no site: load a scenario first (load_scenario FILE)")
    if code is None and len(sites) == 1:
        return next(iter(sites.values()))
    if code is None:
        raise NoSuchSite(f"name the site, there are several: --site {' or '.join(sites)}")
    if code not in sites:
        raise NoSuchSite(f"no site {code!r}; there is {', '.join(sites)}")
    return sites[code]


@contextmanager
def refusing(stderr: OutputWrapper) -> Iterator[None]:
    """Expected refusals: a line each on standard error, exit status 2.  Crashes stay crashes."""
    try:
        yield
    except ScenarioFaults as refused:
        lines = refused.faults
    except (NotEmpty, NoSuchSite, NoSuchCase) as refused:
        lines = [str(refused)]
    else:
        return
    for line in lines:
        stderr.write(line)
    sys.exit(REFUSED)
