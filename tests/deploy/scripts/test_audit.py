"""What pip-audit answers, and what it does not: a missing answer is no good news."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from deploy.scripts.audit import audit, judged
from deploy.scripts.test import Result, table


def answer(*packages: dict[str, Any]) -> str:
    return json.dumps(
        {"dependencies": [{"version": "1.0", "vulns": [], **one} for one in packages]}
    )


def test_packages_without_a_known_weakness_pass() -> None:
    assert judged(answer({"name": "a"}, {"name": "b"}), "") == (True, "2 packages")


def test_a_weakness_fails_by_name() -> None:
    weak = {"name": "b", "vulns": [{"id": "PYSEC-1"}, {"id": "GHSA-2"}]}
    assert judged(answer({"name": "a"}, weak), "") == (False, "b 1.0: PYSEC-1; b 1.0: GHSA-2")


@pytest.mark.parametrize(
    ("said", "complained", "told"),
    [
        ("", "ERROR: first\nERROR: no connection\n", "not audited: ERROR: no connection"),
        ("", "", "not audited: no answer"),
        ("{}", "why", "not audited: why"),
        (answer(), "", "not audited: no packages"),
        (answer({"name": "a", "skip_reason": "not found"}), "", "not audited: a"),
    ],
)
def test_no_answer_is_neither_passed_nor_failed(said: str, complained: str, told: str) -> None:
    assert judged(said, complained) == (None, told)


def test_a_program_that_asks_nobody_is_no_pass(tmp_path: Path) -> None:
    """Stands for one without a way to the index: it complains and says nothing."""
    python = tmp_path / "python"
    python.write_text("#!/bin/sh\necho no way to the index >&2\nexit 1\n")
    python.chmod(0o755)
    assert audit(python) == (None, "not audited: no way to the index")


def test_the_table_says_that_it_was_not_made() -> None:
    told = table(
        [Result("lint", True, 1.0), Result("known weaknesses", None, 0.1, "not audited")], 2
    )
    assert "–       known weaknesses" in told
    assert "all checks passed but these, which could not be made: known weaknesses" in told
    assert "1 of 2 checks failed" in table([Result("lint", False, 1), Result("x", None, 1)], 2)
