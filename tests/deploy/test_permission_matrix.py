"""Who may do what: every route × method × person, pages and API in one table.

A route that is not in the table fails, and so does a method that answers where the table has
none.  The admin keeps its own doors and has a table of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from deploy.kit.doors import OPEN, door_of, is_api
from deploy.kit.doors import SIGNED_IN as SIGNED_IN_DOOR
from deploy.kit.models import ImportDraft, Person
from deploy.kit.role_change import give_roles
from deploy.roles import READS
from implants.models import Count, Credit, Implant, Order, Owner, Recall, RecallBox, Terms, Unit
from implants.operations.orders.making import Asked, make_orders
from implants.workbooks.catalogue import Catalogue
from scheduling.models import Alert
from tests import factories
from tests.deploy import doors_in_theatre
from tests.factories import NOW
from tests.hospital import Hospital
from tests.proof.figures import Figures
from trays.models import Load, Machine, Pack, Tray

GTIN = "02999990000016"
CATALOGUE = Catalogue().spec.kind
METHODS = ("get", "head", "options", "put", "patch", "delete", "post")

ANONYMOUS = "anonymous"
READERS = ("sterile_services", "coordinator", "theatre_team", "manager")
SURGEONS = ("surgeon", "other_surgeon")
PEOPLE = (*READERS, *SURGEONS, "administrator", "stranger")
"""The cast; the stranger is a coordinator too, of another site."""

Statuses = dict[str, int]


def each(*people: str, say: int = 200, **others: int) -> Statuses:
    return dict.fromkeys(people, say) | others


ALL_CASES = each(*READERS, "stranger")
CLINICAL = each(*READERS, *SURGEONS, "stranger")
SIGNED_IN = each(*PEOPLE)
# Of the surgeon's case, the coordinator's site: the same answer for "none" and "not yours".
ONE_CASE = each(*READERS, "surgeon", other_surgeon=404, stranger=404)
ONE_ITEM = each(*READERS, *SURGEONS, stranger=404)
PRINTERS = ("sterile_services", "coordinator", "theatre_team", "surgeon")
NOT_THEIRS = {"other_surgeon": 404, "stranger": 404}
ONE_DAY = {"surgeon": 404, **NOT_THEIRS}
SCANNERS = ("sterile_services", "coordinator", "theatre_team")
# Of the coordinator's own site; the stranger is one of another.
COORDINATOR_ONLY = each("coordinator", say=302, stranger=404)
OWN_SITE = each("coordinator", stranger=404)
COORDINATORS = each("coordinator", "stranger")
NONE_IS_THERE = each("coordinator", "stranger", say=404)
COORDINATORS_ON = each("coordinator", "stranger", say=302)
# The administrator brings in the house's settings, and nothing else.
IMPORTERS = each("coordinator", "stranger", "administrator")
OWN_DRAFT = each("coordinator", stranger=404, administrator=404)
BENCHES = ("sterile_services", "theatre_team")
OF_STERILE_SERVICES = each(*READERS, say=403) | {"sterile_services": 302}
READ_ONLY_SURGEONS = each(*SURGEONS, say=403)
OWN_PLAN = each("surgeon", other_surgeon=404)
BOOKERS = each("coordinator", *SURGEONS, "stranger")
MOVERS = each("coordinator", "surgeon", **NOT_THEIRS)
EVERYBODY = each(ANONYMOUS, *PEOPLE)
# Whoever acts is led past the log-in page, whatever the method.
LOG_IN = each(*PEOPLE, say=302, anonymous=200)
LOG_INS = {
    "get": LOG_IN,
    "post": LOG_IN,
    "put": LOG_IN,
    "options": LOG_IN,
    "patch": each(*PEOPLE, say=302, anonymous=405),
    "delete": each(*PEOPLE, say=302, anonymous=405),
}

# Route → method → person → status.  HEAD is as GET.
# A person left out of a route: 403, or for the anonymous at a page the log-in page (302).
# A method left out: 405 to those for whom the door is open; OPTIONS is answered by the API.
TABLE: dict[str, dict[str, Statuses]] = {
    "login": LOG_INS,
    "admin_login": LOG_INS,
    "logout": {"post": each(ANONYMOUS, *PEOPLE, say=302), "options": EVERYBODY},
    "lock": {"post": each(ANONYMOUS, *PEOPLE, say=302)},
    "locked": {
        "get": each(ANONYMOUS, *PEOPLE, say=302),
        "post": each(*PEOPLE, anonymous=302),
    },
    "switch": {"get": EVERYBODY, "post": EVERYBODY},
    "here": {"post": each(ANONYMOUS, *PEOPLE, say=204)},
    "first_run": {"get": EVERYBODY, "post": EVERYBODY},
    "health": {"get": EVERYBODY},
    "your_pin": {"get": SIGNED_IN, "post": SIGNED_IN},
    "home": {"get": each(*PEOPLE, say=302)},
    "needed_next": {"get": ALL_CASES, "post": each(*ALL_CASES, say=302)},
    "needed_next_wall": {"get": ALL_CASES},
    "which_first": {"get": ALL_CASES},
    "handover": {"get": ALL_CASES, "post": OF_STERILE_SERVICES | {"stranger": 403}},
    "handover_pdf": {"get": ALL_CASES},
    "bench": {"get": each(*BENCHES), "post": each(*BENCHES, say=302)},
    "bench_station": {"get": each(*BENCHES), "post": each(*BENCHES, say=302)},
    "pack_tray": {"get": each("sterile_services"), "post": each("sterile_services", say=302)},
    "count_tray": {"get": each("sterile_services"), "post": each("sterile_services", say=302)},
    "tray_at_bench": {
        "get": ONE_ITEM,
        "post": OF_STERILE_SERVICES | READ_ONLY_SURGEONS | {"theatre_team": 302, "stranger": 404},
    },
    "count_sheet_pdf": {"get": ONE_ITEM},
    "label_pdf": {"get": ONE_ITEM},
    "machines": {
        "get": CLINICAL,
        "post": OF_STERILE_SERVICES | READ_ONLY_SURGEONS | {"stranger": 403},
    },
    "stage_times": {
        "get": ALL_CASES,
        "post": each(*READERS, say=403) | {"coordinator": 302, "stranger": 302},
    },
    "loads": {"get": CLINICAL},
    "load": {
        "get": ONE_ITEM,
        "post": OF_STERILE_SERVICES | READ_ONLY_SURGEONS | {"stranger": 404},
    },
    "load_pdf": {"get": ONE_ITEM},
    "load_trace": {"get": each(*READERS, stranger=404)},
    "retrieval_pdf": {"get": each(*READERS, stranger=404)},
    "to_order": {"get": ALL_CASES},
    "make_orders": {"post": each("coordinator", "stranger", say=302)},
    "note_gap": {"post": COORDINATOR_ONLY},
    "settle_use": {"post": COORDINATOR_ONLY},
    "orders": {"get": ALL_CASES},
    "order": {"get": each(*READERS, stranger=404)},
    "order_paper": {"get": ONE_ITEM},
    "order_workbook": {"get": ONE_ITEM},
    "act_on_order": {"post": COORDINATOR_ONLY},
    "settle_credit": {"post": COORDINATOR_ONLY},
    "par_levels": {"get": ALL_CASES},
    "accept_par": {"post": each("coordinator", "stranger", say=302)},
    "workbooks": {"get": IMPORTERS},
    "workbook_send": {"post": each("coordinator", "stranger", say=302, administrator=403)},
    "workbook_template": {"get": IMPORTERS | {"administrator": 403}},
    "workbook_export": {"get": IMPORTERS | {"administrator": 403}},
    "import_draft": {"get": OWN_DRAFT, "post": OWN_DRAFT | {"coordinator": 302}},
    "import_progress": {"get": OWN_DRAFT},
    "import_refused": {"get": OWN_DRAFT},
    "alerts": {"get": CLINICAL},
    "alerts_open": {"get": CLINICAL},
    "alert": {"post": each(*READERS, "surgeon", say=302, **NOT_THEIRS)},
    "receive": {"get": COORDINATORS, "post": COORDINATORS_ON},
    "receive_decide": {"post": COORDINATORS_ON},
    "unknown_boxes": {"get": COORDINATORS, "post": NONE_IS_THERE},
    "counts": {"get": COORDINATORS, "post": COORDINATORS_ON},
    "count": {"get": OWN_SITE},
    "count_scan": {"post": COORDINATOR_ONLY},
    "count_differences": {"get": OWN_SITE, "post": COORDINATOR_ONLY},
    "count_print": {"get": OWN_SITE},
    "open_differences": {"get": COORDINATORS, "post": NONE_IS_THERE},
    # Whoever reads sees them; opening one is asked for again.
    "recalls": {"get": CLINICAL, "post": dict.fromkeys(CLINICAL, 403) | COORDINATORS},
    "recall": {"get": ONE_ITEM},
    "recall_print": {"get": ONE_ITEM},
    "recall_retrieve": {"post": COORDINATOR_ONLY},
    "recall_explain": {"post": COORDINATOR_ONLY},
    "recall_close": {"post": COORDINATOR_ONLY},
    "place": {"get": ONE_ITEM},
    "place_labels": {"get": COORDINATORS},
    "box_label": {"get": OWN_SITE},
    "shelf": {"get": CLINICAL},
    "shelf_item": {"get": each(*READERS, stranger=404)},
    "use_by": {"get": ALL_CASES},
    "send_back": {"post": each("coordinator", "stranger", say=302)},
    "taken_unscanned": {"post": COORDINATOR_ONLY},
    "your_cases": {"get": each(*SURGEONS)},
    "plan": {"get": OWN_PLAN, "post": OWN_PLAN},
    "plan_preview": {"post": OWN_PLAN | {"surgeon": 409}},
    "plan_versions": {"get": ONE_CASE},
    "windows": {"get": each(*SURGEONS), "post": each(*SURGEONS, say=404)},
    "book": {"get": BOOKERS, "post": BOOKERS},
    "move": {"get": MOVERS, "post": MOVERS | {"coordinator": 400, "surgeon": 400}},
    "move_preview": {"post": MOVERS | {"coordinator": 400, "surgeon": 400}},
    # The coordinator, who comes first, has cancelled it before the surgeon looks.
    "cancel": {
        "get": MOVERS | {"surgeon": 302},
        "post": MOVERS | {"coordinator": 302, "surgeon": 302},
    },
    "decide": {"get": OWN_PLAN, "post": OWN_PLAN | {"surgeon": 302}},
    "answer": {"post": OWN_PLAN | {"surgeon": 302}},
    "on_it": {"post": each("coordinator", "sterile_services", say=302, stranger=404)},
    "in_house": {"get": ONE_CASE},
    "meeting": {"get": COORDINATORS, "post": COORDINATORS},
    "notices": {"get": SIGNED_IN},
    "notices_seen": {"post": each(*PEOPLE, say=302)},
    "calendar": {"get": each(*SURGEONS), "post": each(*SURGEONS)},
    # The address is the key: an unknown one is none.
    "calendar_feed": {"get": each(ANONYMOUS, *PEOPLE, say=404)},
    "cases": {"get": ALL_CASES},
    "case": {"get": ONE_CASE},
    "today": {"get": each(*ALL_CASES, say=302)},
    "day": {"get": ALL_CASES},
    "pick_list_for_case": {
        "get": each(*PRINTERS, **NOT_THEIRS),
        "post": each(*PRINTERS, say=302, **NOT_THEIRS),
    },
    "pick_list_for_day": {
        "get": each(*SCANNERS, **ONE_DAY),
        "post": each(*SCANNERS, say=302, **ONE_DAY),
    },
    "pick_list_version": {"get": ONE_CASE},
    "pick_list_print": {"get": ONE_CASE},
    "pick_list_pdf": {"get": ONE_CASE},
    "scan": {"get": each(*SCANNERS, "stranger"), "post": each(*SCANNERS, "stranger", say=302)},
    "scan_list": {
        "get": each(*SCANNERS, stranger=404),
        "post": each(*SCANNERS, say=302, stranger=404),
    },
    **doors_in_theatre.rows(each, ONE_CASE, ALL_CASES),
    **{f"{what}_link": {"get": ONE_ITEM} for what in ("implant", "tray", "house")},
    "api_docs": {"get": SIGNED_IN},
    "api_schema": {"get": SIGNED_IN},
    "api_implants": {"get": CLINICAL},
    "api_units": {"get": CLINICAL},
    "api_unit_quarantine": {"post": each("coordinator", say=201, stranger=404)},
    "api_instruments": {"get": CLINICAL},
    "api_configurations": {"get": CLINICAL},
    "api_trays": {"get": CLINICAL},
    "api_tray_hold": {"post": each("coordinator", say=201, stranger=404)},
    "api_cases": {"get": CLINICAL},
    "api_case": {"get": ONE_CASE},
    "api_case_coverage": {"get": ONE_CASE},
    "api_what_if": {"post": CLINICAL},
    "api_pick_lists": {"get": CLINICAL},
    "api_pick_list_version": {"get": ONE_CASE},
    "api_scans": {"post": each(*SCANNERS, say=201, stranger=404)},
}
STAY_OPEN = {"login", "admin_login", "logout", "lock", "locked", "switch", "health"}
"""What a locked session and one that only looks still need."""


def routes(resolver: URLResolver) -> Iterator[tuple[str, Any]]:
    """(name, view) of every route outside the admin."""
    for entry in resolver.url_patterns:
        if isinstance(entry, URLPattern):
            yield str(entry.name), entry.callback
        elif entry.namespace != "admin":
            yield from routes(entry)


VIEWS = dict(routes(get_resolver()))


def is_for_acting(route: str) -> bool:
    """No permission to read opens it: even its form is for those who act."""
    door = door_of(VIEWS[route]) or OPEN
    return door not in (OPEN, SIGNED_IN_DOOR) and READS.isdisjoint(door)


def expected(route: str, method: str, who: str) -> int:
    """What the table says, with its rules for what is left out."""
    statuses = TABLE[route]
    if method == "head":
        method = "get"
    if not any(who in people for people in statuses.values()):
        return 302 if who == ANONYMOUS and not is_api(VIEWS[route]) else 403
    if method == "options" and is_api(VIEWS[route]):
        return 200
    return statuses.get(method, {}).get(who, 405)


def test_a_badge_alone_reads_and_does_nothing_else() -> None:
    assert {
        *("trays.read_trays", "implants.read_shelf", "implants.read_recalls"),
        *("scheduling.read_cases", "scheduling.read_own_cases"),
    } == READS


def test_every_route_is_in_the_table_once():
    names = [name for name, _ in routes(get_resolver())]
    assert sorted(names) == sorted(TABLE)


def test_every_route_declares_a_door():
    closed = [name for name, view in VIEWS.items() if door_of(view) is None]
    assert not closed, f"mark the view with @requires(...) or give it a `door`: {closed}"


def test_what_is_open_to_everybody_says_so_in_the_table_and_nothing_else():
    opened = {name for name, view in VIEWS.items() if door_of(view) == OPEN}
    assert opened == {
        name for name in TABLE if any(ANONYMOUS in who for who in TABLE[name].values())
    }


def ordered(box: Unit, by: Person) -> Order:
    """A draft of one more of the box's kind."""
    supplier = factories.supplier(box.site)
    Implant.objects.filter(pk=box.implant_id).update(supplier=supplier)
    implant = Implant.objects.get(pk=box.implant_id)
    asked = Asked(implant, Owner.OWNED, Terms.BUY, 1)
    (order,) = make_orders(asked=[asked], by=by, now=NOW)
    return order


Call = Callable[[Client, str, str], int]


@pytest.fixture
def call(hospital: Hospital, coordinator: Person) -> Call:
    """Send a request that has an effect where the door is open; its status."""
    version = hospital.printed
    code, number, case = version.pick_list.code, version.number, hospital.case
    box, tray = Unit.objects.get(), Tray.objects.get()
    Implant.objects.update(gtin=GTIN)
    machine = Machine.objects.create(
        site=hospital.site, code="S1", kind="steriliser", places=4, cycle_minutes=60
    )
    load = Load.objects.create(machine=machine, number=1, opened_at=NOW)
    Pack.objects.create(tray=tray, number=1, first_seq=1, packed_at=NOW, load=load)
    order = ordered(box, coordinator)
    credit = Credit.objects.create(
        unit=box, supplier=order.supplier, reason="damaged", by=coordinator.user, at=NOW
    )
    draft = ImportDraft.objects.create(
        site=box.site, by=coordinator, kind=CATALOGUE, name="x", data=b"x", refused=b"x"
    )
    count = Count.objects.create(
        site=box.site, places=["A-01"], at_place="A-01", opened_at=NOW, opened_by=coordinator.user
    )
    recall = Recall.objects.create(
        site=box.site, title="lot L1", opened_at=NOW, opened_by=coordinator.user
    )
    recalled = RecallBox.objects.create(recall=recall, unit=box)
    alert = Alert.objects.create(
        site=box.site, kind="no longer covered", cause="x", case=case, said="x", opened_at=NOW
    )
    args: dict[str, list[Any]] = {
        "alert": [alert.pk],
        "case": [case.pk],
        "day": [case.start.date()],
        "meeting": [case.start.date()],
        "calendar_feed": ["nobody"],
        **{f"plan{what}": [case.pk] for what in ("", "_preview", "_versions")},
        **{f"move{what}": [case.pk] for what in ("", "_preview")},
        **{what: [case.pk] for what in ("cancel", "decide", "answer", "on_it", "in_house")},
        "pick_list_for_case": [case.pk],
        "pick_list_for_day": [case.theatre.pk, case.start.date()],
        "pick_list_version": [code, number],
        "pick_list_print": [code, number],
        "pick_list_pdf": [code, number],
        "scan_list": [code],
        "order": [order.code],
        "shelf_item": [box.implant.ref],
        "order_paper": [order.code],
        "order_workbook": [order.code],
        "act_on_order": [order.code, "cancel"],
        "settle_credit": [credit.pk],
        **{f"count{what}": [count.pk] for what in ("", "_scan", "_differences", "_print")},
        **{
            f"recall{what}": [recall.pk]
            for what in ("", "_print", "_retrieve", "_explain", "_close")
        },
        **{f"workbook_{what}": [CATALOGUE] for what in ("send", "template", "export")},
        **{f"import_{what}": [draft.pk] for what in ("draft", "progress", "refused")},
        **doors_in_theatre.addresses(case.pk),
        "implant_link": [f"{GTIN}/10/{box.lot}"],
        "tray_link": [tray.asset],
        "bench_station": ["returned"],
        **{key: [tray.pk] for key in ("pack_tray", "count_tray", "tray_at_bench")},
        **{key: [tray.pk] for key in ("count_sheet_pdf", "label_pdf")},
        **{key: [load.pk] for key in ("load", "load_pdf", "load_trace", "retrieval_pdf")},
        "house_link": [box.code],
        "place": ["A-01"],
        "box_label": [box.pk],
        "api_case": [case.pk],
        "api_case_coverage": [case.pk],
        "api_pick_list_version": [code, number],
        "api_scans": [code],
        "api_unit_quarantine": [box.code],
        "api_tray_hold": [tray.code],
    }
    bodies: dict[str, Any] = {
        "note_gap": {"ref": box.implant.ref, "note": "asked"},
        "settle_use": {"box": box.pk, "note": "not kept"},
        "taken_unscanned": {"box": f"1|{box.code}", "case": case.ref, "who": "night team"},
        "act_on_order": {"seq": order.seq, "reason": "not wanted"},
        "settle_credit": {"number": "C1"},
        "recall_explain": {"box": recalled.pk, "note": "lost"},
        "scan": {"text": code},
        "scan_list": {"text": "U001", "version": number, "key": "one"},
        "api_what_if": hospital.scenario(),
        "api_scans": {"text": "U001", "version": number},
        "api_unit_quarantine": {"reason": "dropped", "seq": 1},
        "api_tray_hold": {"reason": "wet", "seq": 1, "stage": "quarantine"},
    }

    def call(browser: Client, method: str, route: str) -> int:
        as_json = {"content_type": "application/json"} if is_api(VIEWS[route]) else {}
        sends = {"data": bodies.get(route, {}), **as_json} if method == "post" else {}
        address = reverse(route, args=args.get(route))
        headers = {"Idempotency-Key": "one"}
        return int(getattr(browser, method)(address, headers=headers, **sends).status_code)

    return call


@pytest.fixture
def browsers(client_of: Any, request: pytest.FixtureRequest) -> dict[str, Client]:
    logged_in = {who: client_of(request.getfixturevalue(who)) for who in PEOPLE}
    return {ANONYMOUS: Client(), **logged_in}


@pytest.mark.parametrize("route", TABLE)
def test_who_may_do_what(
    route: str, call: Call, browsers: dict[str, Client], figures: Figures
) -> None:
    answered = {
        (method, who): call(browser, method, route)
        for who, browser in browsers.items()
        for method in METHODS
    }
    figures("Permission matrix", routes=1, answers=len(answered))
    assert answered == {
        (method, who): expected(route, method, who) for who in browsers for method in METHODS
    }


@pytest.mark.parametrize("route", [name for name in TABLE if door_of(VIEWS[name]) != OPEN])
def test_an_account_without_a_place_of_work_may_do_nothing(route: str, call: Call) -> None:
    user = User.objects.create_user("nowhere")
    give_roles(user, ["implant coordinator"])
    browser = Client()
    browser.force_login(user)
    assert {call(browser, method, route) for method in METHODS} == {403}


@pytest.mark.parametrize("route", TABLE)
def test_a_locked_session_may_do_nothing(
    route: str, call: Call, coordinator: Any, client_of: Any
) -> None:
    browser = client_of(coordinator)
    browser.post("/lock/")
    answers = {call(browser, method, route) for method in METHODS if method != "post"}
    if route not in STAY_OPEN:
        answers.add(call(browser, "post", route))
        assert answers == {401 if is_api(VIEWS[route]) else 302}
    assert browser.session["locked"]


@pytest.mark.parametrize("route", [name for name in TABLE if name not in STAY_OPEN])
def test_a_session_that_only_looks_reads_and_writes_nothing(
    route: str, call: Call, coordinator: Any, client_of: Any
) -> None:
    """What acting would do (2xx, 302) becomes the way to the PIN (302) or a refusal (403)."""
    browser = client_of(coordinator)
    session = browser.session
    session["looking"] = True
    session.save()
    asks = 403 if is_api(VIEWS[route]) else 302
    get = expected(route, "get", "coordinator")
    # Who may not enter at all is not asked for a PIN.
    led = is_for_acting(route) and get != 403
    assert call(browser, "get", route) == (asks if led else get)
    if door_of(VIEWS[route]) != OPEN:
        shut = 403 if get == 403 else asks
        assert {call(browser, method, route) for method in METHODS[3:]} == {shut}
