"""A run of the tests passes only if some ran and none was left out."""

from __future__ import annotations

from pathlib import Path

import pytest

from deploy.scripts import test as script

REPORT = """<?xml version="1.0"?><testsuites><testsuite tests="{tests}" skipped="{skipped}"/>
</testsuites>"""


@pytest.mark.parametrize(
    ("status", "tests", "skipped", "passes"),
    [(True, 9, 0, True), (True, 9, 1, False), (True, 0, 0, False), (False, 9, 0, False)],
)
def test_what_passes(
    monkeypatch: pytest.MonkeyPatch, status: bool, tests: int, skipped: int, passes: bool
) -> None:
    def run(*command: str | Path, env: dict[str, str]) -> bool:
        (report,) = (str(word) for word in command if "--junit-xml=" in str(word))
        Path(report.partition("=")[2]).write_text(REPORT.format(tests=tests, skipped=skipped))
        return status

    monkeypatch.setattr(script, "succeeds", run)
    assert script.tests(Path("python"), "chromium", "sqlite").passed is passes


def test_a_run_that_did_not_finish_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(script, "succeeds", lambda *command, env: True)
    result = script.tests(Path("python"), "chromium", "sqlite")
    assert (result.passed, result.counted) == (False, "pytest did not finish")
