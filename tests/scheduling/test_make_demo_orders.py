"""The demonstration's suppliers, orders and loans: something on every page, no verdict changed."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from deploy.kit.ledger_check import breaches
from deploy.kit.models import Site
from implants.models import Implant, Unit
from implants.order_queries import open_orders
from implants.states import UnitState
from implants.uses import open_uses
from scheduling.facts import exactly
from scheduling.queries import coverage_now
from scheduling.size_risk.kept import implanted_sizes, least_cases
from scheduling.size_risk.ladders import sizes_made
from scheduling.size_risk.record import records

DEMONSTRATION = Path(__file__).resolve().parent.parent.parent / "fixtures" / "demonstration.json"


def verdicts(site: Site) -> dict[str, str]:
    return {case.case: case.verdict for case in coverage_now(site).report.cases}


def test_orders_in_every_state_and_no_verdict_changed(db, settings, capsys):
    settings.DEMO = True
    call_command("load_scenario", str(DEMONSTRATION), verbosity=0)
    call_command("make_demo_people", verbosity=0)
    site = Site.objects.get()
    before = verdicts(site)
    capsys.readouterr()
    call_command("make_demo_orders")
    assert capsys.readouterr().out.splitlines() == [
        "O-0001 Maker South: confirmed",
        "O-0002 Maker North: sent",
        "O-0003 Maker South: draft",
    ]
    assert verdicts(site) == before
    late = {
        order.code: sum(line.late(site.now()) for line in lines)
        for order, lines in open_orders(site).items()
    }
    assert late == {"O-0003": 0, "O-0002": 0, "O-0001": 3}
    assert len(open_uses(site)) == 3
    call_command("make_demo_loans")
    assert capsys.readouterr().out.splitlines() == [
        "L-0001 Maker South: promised",
        "L-0002 Maker South: promised",
        "L-0003 Maker North: arrived",
    ]
    assert verdicts(site) == before
    lent = Unit.objects.filter(code__startswith="L-0003/")
    assert (lent.count(), lent.filter(state="on the shelf").count()) == (80, 6)
    assert list(breaches()) == []


@pytest.mark.parametrize("command", ["make_demo_orders", "make_demo_loans", "make_demo_waste"])
def test_refuses_outside_a_demonstration_and_without_people(db, settings, command):
    settings.DEMO = False
    with pytest.raises(CommandError, match="Only for a demonstration"):
        call_command(command)
    settings.DEMO = True
    with pytest.raises(CommandError, match="people first"):
        call_command(command)


def test_a_record_of_sizes_that_says_enough_of_each_line(db, settings, capsys):
    """So the demonstration has something to propose, and no verdict rests on it."""
    settings.DEMO = True
    call_command("load_scenario", str(DEMONSTRATION), verbosity=0)
    call_command("make_demo_people", verbosity=0)
    call_command("make_demo_orders", verbosity=0)
    site = Site.objects.get()
    before = verdicts(site)
    capsys.readouterr()
    call_command("make_demo_sizes")
    made = sizes_made((item.role, exactly(item.attributes)) for item in Implant.objects.all())
    found = records(implanted_sizes(site), made)
    cases = sum(record.cases for record in found.values())
    assert capsys.readouterr().out == f"{cases} cases on record.\n"
    assert all(record.cases >= least_cases(site) for record in found.values())
    assert all(len(record.by_surgeon) == 3 for record in found.values())
    assert verdicts(site) == before
    capsys.readouterr()
    call_command("make_demo_waste")
    (wasted,) = Unit.objects.filter(state=UnitState.WASTED)
    assert capsys.readouterr().out == f"OLD/DROPPED: wasted in case {wasted.case_ref}\n"
    assert verdicts(site) == before
    assert list(breaches()) == []
    settings.DEMO = False
    with pytest.raises(CommandError, match="Only for a demonstration"):
        call_command("make_demo_sizes")
