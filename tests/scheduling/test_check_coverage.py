"""The three commands: what they print, what they refuse, and with which exit status."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from deploy.kit.models import Site
from scheduling.coverage.report_json import expected_of
from scheduling.coverage.scenario_json import read_scenario
from tests.coverage_engine.small_scenario import RECORDED, small

ROOT = Path(__file__).parents[2]
ONE_ADD_ON = ROOT / "fixtures" / "scenarios" / "one-add-on-set-1630.json"

TABLE = """\
Ottermere General Hospital: coverage of 2 cases, as of Mon 9 Mar 2026 09:00

covered            A, Tue 10 Mar 2026 08:30
NOT COVERED        B, Tue 10 Mar 2026 16:30
"""
CAUTIONS = """\
1 not covered; 1 covered

Logistics aid: check the physical tray, label, use-by date and indicator.
Decision support for stock and readiness. It does not choose implants, sizes or methods; the surgeon
does. Follow the manufacturer's instructions, local policy and the law; a person releases loads and
confirms cases.
"""


def run(*arguments: str) -> str:
    out = io.StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


def refused(*arguments: str) -> list[str]:
    """The lines on standard error of a command that leaves with status 2."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as left:
        call_command(*arguments, stdout=out, stderr=err)
    assert (left.value.code, out.getvalue()) == (2, "")
    return err.getvalue().splitlines()


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    data = small()
    data["cases"][0]["start"] = "8.30"
    data["trays"][0]["colour"] = "red"
    path = tmp_path / "broken.json"
    path.write_text(json.dumps(data), "utf-8")
    return path


BROKEN = [
    "trays[0].colour: unknown key (known: code, configuration, location, ready, arrives, "
    "withdrawn, sterile_until, missing, note)",
    'cases[0].start: not a time: "8.30" (YYYY-MM-DDTHH:MM)',
]

# -- a scenario file, without a database ------------------------------------------------------


def test_the_table_says_verdict_first_then_the_worst_gap_and_the_cautions() -> None:
    table = run("check_coverage", "--scenario", str(ONE_ADD_ON))
    assert table.startswith(TABLE)
    assert "\n                   No set for femoral preparation. " in table
    assert table.endswith(CAUTIONS)


def test_a_site_without_cases(tmp_path: Path) -> None:
    path = tmp_path / "empty.json"
    path.write_text('{"site": {"now": "2027-03-01T07:00"}}', "utf-8")
    table = run("check_coverage", "--scenario", str(path))
    assert table.startswith(
        "Coverage of 0 cases, as of Mon 1 Mar 2027 07:00\n\nNo case is booked.\n"
    )


@pytest.mark.parametrize("path", RECORDED, ids=lambda path: path.stem)
def test_the_report_as_json(path: Path) -> None:
    report = json.loads(run("check_coverage", "--scenario", str(path), "--json"))
    expected = json.loads(path.with_suffix(".expected.json").read_text("utf-8"))
    assert expected_of(report) == expected


def test_the_output_is_the_report_alone() -> None:
    """On this file the solver prints lines of its own, from below Python."""
    talks = ROOT / "tests" / "coverage_engine" / "six_cases_seven_trays.json"
    done = subprocess.run(
        [sys.executable, "manage.py", "check_coverage", "--json", "--scenario", str(talks)],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert "HighsMipSolverData" in done.stderr
    verdicts = {case["case"]: case["verdict"] for case in json.loads(done.stdout)["cases"]}
    # As an exhaustive search has it; what the solver's presolve cannot do is no search given up.
    assert verdicts.pop("Ex") == verdicts.pop("D") == "not covered"
    assert set(verdicts.values()) == {"covered"}


def test_a_broken_file_is_refused_with_a_line_for_every_fault(broken: Path) -> None:
    assert refused("check_coverage", "--scenario", str(broken)) == BROKEN


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    missing = tmp_path / "missing.json"
    assert refused("check_coverage", "--scenario", str(missing)) == [
        f"{missing}: cannot be read: No such file or directory"
    ]
    assert refused("check_coverage", "--scenario", str(tmp_path)) == [
        f"{tmp_path}: cannot be read: Is a directory"
    ]


def test_a_file_that_is_not_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "latin.json"
    path.write_bytes('{\n"site": "Öttermere"}'.encode("latin-1"))
    assert refused("check_coverage", "--scenario", str(path)) == ["line 2: not UTF-8"]


def test_a_scenario_file_needs_no_database(broken: Path) -> None:
    """As a person runs it, where the database's address leads nowhere."""

    def command(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "manage.py", "check_coverage", *arguments],
            cwd=ROOT,
            env={**os.environ, "MUSTER_DATABASE": "sqlite:////nowhere/at/all.sqlite3"},
            capture_output=True,
            text=True,
            check=False,
        )

    good = command("--scenario", str(ONE_ADD_ON))
    assert (good.returncode, good.stderr) == (0, "")
    assert good.stdout.startswith(TABLE)
    bad = command("--scenario", str(broken), "--json")
    assert (bad.returncode, bad.stdout, bad.stderr.splitlines()) == (2, "", BROKEN)


# -- the database -----------------------------------------------------------------------------


@pytest.mark.django_db
def test_load_check_and_export() -> None:
    assert run("load_scenario", str(ONE_ADD_ON)) == (
        "Loaded Ottermere General Hospital (ottermere-general-hospital): "
        "2 cases, 3 trays, 114 boxes.\n"
    )
    assert run("check_coverage") == run("check_coverage", "--scenario", str(ONE_ADD_ON))
    assert run("check_coverage", "--json") == run(
        "check_coverage", "--scenario", str(ONE_ADD_ON), "--json"
    )
    stated = read_scenario(ONE_ADD_ON.read_text("utf-8"))
    assert read_scenario(run("export_scenario")) == stated


@pytest.mark.django_db
def test_the_clock_of_a_loaded_site_may_run(tmp_path: Path) -> None:
    run("load_scenario", str(ONE_ADD_ON), "--run-clock", "--site", "ottermere")
    site = Site.objects.get(code="ottermere")
    assert site.clock_started is not None


@pytest.mark.django_db
def test_the_clock_of_a_loaded_site_may_be_real() -> None:
    run("load_scenario", str(ONE_ADD_ON), "--real-clock")
    assert Site.objects.get().clock_is_real


@pytest.mark.django_db
def test_one_clock_only() -> None:
    with pytest.raises(CommandError, match="not allowed with"):
        call_command("load_scenario", str(ONE_ADD_ON), "--run-clock", "--real-clock")


@pytest.mark.django_db
def test_a_broken_file_is_not_loaded(broken: Path) -> None:
    assert refused("load_scenario", str(broken)) == BROKEN
    assert not Site.objects.exists()


def test_a_database_that_is_not_empty_is_refused(site: Site) -> None:
    assert refused("load_scenario", str(ONE_ADD_ON)) == [
        "the database is not empty: it holds Ottermere General"
    ]
    assert Site.objects.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize("command", ["check_coverage", "export_scenario"])
def test_a_database_without_a_site(command: str) -> None:
    assert refused(command) == [
        "the database holds no site: load a scenario first (load_scenario FILE)"
    ]


def test_the_site_is_named_where_there_are_several(site: Site, stranger: Any) -> None:
    assert refused("check_coverage") == [
        "name the site, there are several: --site elsewhere or ottermere"
    ]
    assert refused("check_coverage", "--site", "other") == [
        "no site 'other'; there is elsewhere, ottermere"
    ]
    assert run("check_coverage", "--site", "elsewhere").startswith(
        "Elsewhere Infirmary: coverage of 0 cases, as of Mon 1 Mar 2027 07:00"
    )
