"""`check_coverage --ways-out` and `--against`: whole texts, JSON, and what is refused."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.coverage_engine.small_scenario import small

SCENARIOS = Path(__file__).parents[2] / "fixtures" / "scenarios"
AT_1630 = str(SCENARIOS / "one-add-on-set-1630.json")
AT_1715 = str(SCENARIOS / "one-add-on-set-1715.json")
MISSING_RUNG = str(SCENARIOS / "missing-rung.json")

CAUTIONS = """
Logistics aid: check the physical tray, label, use-by date and indicator.
Decision support for stock and readiness. It does not choose implants, sizes or methods; the surgeon
does. Follow the manufacturer's instructions, local policy and the law; a person releases loads and
confirms cases.
"""


def run(*arguments: str) -> str:
    out = io.StringIO()
    call_command("check_coverage", *arguments, stdout=out)
    return out.getvalue()


def test_ways_out_stand_below_the_table_with_their_effects() -> None:
    table = run("--scenario", MISSING_RUNG, "--ways-out", "B", "--ways-out", "A")
    whole = run("--scenario", MISSING_RUNG)
    assert table == (
        whole
        + """
What can still be done for case B, now not covered:
1. Swap trays with case Z: BASE/1 comes here, BASE/2 goes there.
   Then covered.
2. Add a supplementary pack of reamer A, Ø 14 mm, sterile by Wed 11 Mar 07:30.
   Then covered.
3. Start this case Wed 11 Mar 18:45.
   Then covered.
4. Start this case Thu 12 Mar 08:30.
   Then covered.

What can still be done for case A, now covered:
Nothing, the case is covered.
"""
    )


def test_ways_out_as_json() -> None:
    report = json.loads(run("--scenario", MISSING_RUNG, "--ways-out", "B", "--json"))
    ways = {case["case"]: case["ways_out"] for case in report["cases"]}
    assert (ways["A"], ways["Z"]) == ([], [])
    assert [(way["do"], way["then"]) for way in ways["B"]] == [
        ("swap trays", {"B": "covered"}),
        ("add a supplementary pack", {"B": "covered"}),
        ("start later", {"B": "covered"}),
        ("start later", {"B": "covered"}),
    ]


def test_a_later_start_is_compared_before_it_is_made() -> None:
    assert run("--scenario", AT_1630, "--against", AT_1715) == (
        """\
What would change, as of Mon 9 Mar 2026 09:00

B, Tue 10 Mar 2026 17:15: not covered -> at risk
   better: set for femoral preparation, planned broach A, size 9, planned broach A, size 10, planned
   broach A, size 11 and 13 more
"""
        + CAUTIONS
    )


def test_a_scenario_against_itself_changes_nothing() -> None:
    assert run("--scenario", AT_1630, "--against", AT_1630) == (
        "What would change, as of Mon 9 Mar 2026 09:00\n\nNo case changes.\n" + CAUTIONS
    )


def test_the_comparison_as_json() -> None:
    difference = json.loads(run("--scenario", AT_1630, "--against", AT_1715, "--json"))
    (case,) = difference.pop("cases")
    assert difference == {"now": "2026-03-09T09:00", "then": "2026-03-09T09:00"}
    assert (case["case"], case["before"], case["after"]) == ("B", "not covered", "at risk")
    assert case["better"][0] == {"set": "femoral preparation"}
    assert case["worse"] == []


def test_a_case_booked_or_cancelled_and_another_moment(tmp_path: Path) -> None:
    data = json.loads(Path(AT_1630).read_text("utf-8"))
    data["site"]["now"] = "2026-03-09T10:00"
    data["cases"] = [case for case in data["cases"] if case["ref"] == "B"]
    path = tmp_path / "without-a.json"
    path.write_text(json.dumps(data), "utf-8")
    table = run("--scenario", AT_1630, "--against", str(path)).splitlines()
    assert table[0] == ("What would change, as of Mon 9 Mar 2026 09:00 and Mon 9 Mar 2026 10:00")
    assert table[2] == "B, Tue 10 Mar 2026 16:30: not covered -> covered"
    assert table[5] == "A, Tue 10 Mar 2026 08:30: covered -> not booked"


def refused(*arguments: str) -> list[str]:
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("check_coverage", *arguments, stdout=out, stderr=err)
    assert (left.value.code, out.getvalue()) == (2, "")
    return err.getvalue().splitlines()


def test_a_case_that_is_not_booked_is_refused() -> None:
    assert refused("--scenario", AT_1630, "--ways-out", "A", "--ways-out", "Q") == [
        "no booked case 'Q'"
    ]


def test_a_broken_scenario_to_compare_with_is_refused(tmp_path: Path) -> None:
    data: Any = small()
    data["cases"][0]["start"] = "8.30"
    path = tmp_path / "broken.json"
    path.write_text(json.dumps(data), "utf-8")
    assert refused("--scenario", AT_1630, "--against", str(path)) == [
        'cases[0].start: not a time: "8.30" (YYYY-MM-DDTHH:MM)'
    ]


def test_one_question_at_a_time() -> None:
    with pytest.raises(CommandError, match="--against is not allowed with --ways-out"):
        run("--scenario", AT_1630, "--against", AT_1715, "--ways-out", "A")


@pytest.mark.django_db
def test_the_database_is_asked_the_same() -> None:
    call_command("load_scenario", MISSING_RUNG, stdout=io.StringIO())
    of_file = run("--scenario", MISSING_RUNG, "--ways-out", "B")
    assert run("--ways-out", "B") == of_file
    assert run("--against", MISSING_RUNG).splitlines()[2] == "No case changes."
