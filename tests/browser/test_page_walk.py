"""Every page of every role, on a phone: nothing sticks out sideways, the navigation says where one
is, the browser finds no fault, axe-core finds nothing that would keep somebody out, and the
keyboard alone does everything.
"""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
from django.urls import resolve, reverse

from deploy.kit.models import Person, Site
from implants.demo_bench import make_demo_bench
from implants.models import Implant, Supplier
from scheduling.models import Case, PickListVersion
from scheduling.operations.loans.arriving import loan_arrived
from scheduling.operations.loans.asking import Lent, ask_for_loan, begin_loan
from scheduling.operations.pick_lists import print_pick_list
from tests.browser.conftest import NewPage
from tests.browser.steps import PHONE, found_by_axe, found_by_keyboard, log_in
from trays.models import Configuration

pytestmark = pytest.mark.any_database

EVERYBODY = {
    "implant_record",
    "case_history",
    "alerts",
    "place",
    "case",
    "plan_versions",
    "in_house",
    "notices",
    "pick_list_version",
    "pick_list_print",
    "implant_link",
    "tray_link",
}
ALL_CASES = EVERYBODY | {
    "used",
    "needed_next",
    "needed_next_wall",
    "which_first",
    "handover",
    "loads",
    "tray_at_bench",
    "to_order",
    "orders",
    "par_levels",
    "loans",
    "loan",
    "loan_paper",
    "use_by",
    "shelf_item",
    "cases",
    "today",
    "day",
    "shelf",
}
PRINTS = {"pick_list_for_case"}
BOOKS = {"book", "move", "cancel"}
PLANS = BOOKS | {"plan", "windows", "decide", "calendar"}
SCANS = {"scan", "scan_list"}
BENCHES = {"bench", "bench_station"}
THEATRE = {"theatre", "in_theatre", "outside", "trace"}
LOANS = {"loan_check_in", "loan_tray"}

BENCH = {"receive", "unknown_boxes", "counts", "count", "count_differences", "count_print"}
BENCH |= {"place_labels", "box_label", "open_differences", "recalls", "recall", "recall_print"}

PAGES = {
    "sterile": ALL_CASES | PRINTS | SCANS | BENCHES | LOANS | {"count_tray", "pack_tray"},
    "coordinator": ALL_CASES
    | PRINTS
    | SCANS
    | BENCH
    | LOANS
    | BOOKS
    | {"meeting", "workbooks", "size_risk"},
    "surgeon-ash": EVERYBODY | PRINTS | PLANS | {"your_cases", "shelf"},
    "theatre": ALL_CASES | PRINTS | SCANS | BENCHES | THEATRE,
    "manager": ALL_CASES,
}
NOT_PAGES = {
    *("logout", "pick_list_pdf", "label_pdf", "count_sheet_pdf", "load_pdf"),
    *("implant_record_pdf", "implant_record_workbook", "implant_record_fhir", "used_workbook"),
    *("retrieval_pdf", "handover_pdf", "workbook_template", "workbook_export"),
}
NOWHERE = {"implant_link", "tray_link", "house_link", "switch", "your_pin", "needed_next_wall"}
"""Reached by a printed code or from the frame; the wall has no navigation."""
ENTRIES_LIT = "document.querySelectorAll('nav[aria-label=Main] [aria-current]').length"
STICKS_OUT = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def printed(hospital: Site) -> PickListVersion:
    """A list of the first case, which is Surgeon Ash's."""
    case = Case.objects.get(ref="OG-1001")
    coordinator = Person.objects.get(user__username="coordinator")
    make_demo_bench(site=hospital, by=coordinator)
    stems = Implant.objects.filter(ref__in=["NA20H-225", "NA20H-260"])
    lent = Lent([Configuration.objects.get(code="POWER")], boxes=dict.fromkeys(stems, 2))
    who = {"by": coordinator, "now": hospital.now()}
    supplier = Supplier.objects.create(site=hospital, code="EAST", name="Maker East")
    loan = ask_for_loan(loan=begin_loan(supplier=supplier, lent=lent, **who), **who)
    loan_arrived(loan=loan, delivery_note="E-1", place="Loan trolley", **who)
    return print_pick_list(case=case, by=None, now=hospital.now())


def behind_codes(version: PickListVersion) -> Iterator[str]:
    """The pages that only a printed code leads to."""
    yield reverse("pick_list_version", args=[version.pick_list.code, version.number])
    yield reverse("pick_list_print", args=[version.pick_list.code, version.number])
    lines = version.lines.select_related("unit__implant", "tray")
    box = next(line.unit for line in lines if line.unit)
    tray = next(line.tray for line in lines if line.tray)
    yield reverse("implant_link", args=[f"{box.implant.gtin}/10/{box.lot}"])
    yield reverse("tray_link", args=[tray.asset])
    yield reverse("place", args=[box.location])


def page_name(path: str) -> str | None:
    """Which page an address is of; None for the admin, which is Django's own, and for files."""
    match = resolve(path)
    name = match.url_name
    return None if match.namespaces or name is None or name in NOT_PAGES else name


def test_every_page_fits_a_phone_and_keeps_nobody_out(
    new_page: NewPage, printed: PickListVersion
) -> None:
    """One hospital for all roles.  axe-core and the keyboard come to a page once, with whoever
    comes to it first."""
    looked_at: set[str] = set()
    faults: list[str] = []
    for name in PAGES:
        page = new_page(PHONE)
        page.goto(reverse("login"))
        if not looked_at:
            faults += [f"log in: {fault}" for fault in found_by_axe(page)]
        log_in(page, name)
        here = page.evaluate("location.origin")
        waiting, seen = [urlsplit(page.url).path, *behind_codes(printed)], set()
        while waiting:
            path = waiting.pop(0)
            route = page_name(path)
            if route is None or route in seen:
                continue
            seen.add(route)
            answer = page.goto(path)
            assert answer is not None
            assert answer.ok, f"{name}: {path}: {answer.status}"
            if sticks_out := page.evaluate(STICKS_OUT):
                faults.append(f"{name}: {path}: wider than the phone by {sticks_out} px")
            if route not in NOWHERE and (lit := page.evaluate(ENTRIES_LIT)) != 1:
                faults.append(f"{name}: {path}: in {lit} places of deploy/navigation.py, not one")
            if route not in looked_at:
                faults += [f"{name}: {path}: {fault}" for fault in found_by_axe(page)]
                faults += [f"{name}: {path}: {fault}" for fault in found_by_keyboard(page)]
            links = page.eval_on_selector_all(
                "a[href]:not([download])", "found => found.map(a => a.href)"
            )
            waiting += [urlsplit(link).path for link in links if link.startswith(here)]
        looked_at |= seen
        if missed := PAGES[name] - seen:
            faults.append(f"{name}: not reached: {missed}")
        page.context.close()
    assert not faults, "\n" + "\n".join(faults)
