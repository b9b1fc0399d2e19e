"""Who may do what: every route × method × person, pages and API in one table.

A route that is not in the table fails, and so does a method that answers where the table has
none.  The admin keeps its own doors and has a table of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from deploy.kit.api_or_page import is_api
from deploy.kit.doors import OPEN, door_of
from deploy.kit.doors import SIGNED_IN as SIGNED_IN_DOOR
from deploy.kit.models import ImportDraft, Person
from deploy.kit.role_change import give_roles
from deploy.roles import READS
from implants.models import (
    Count,
    Credit,
    Implant,
    Order,
    Owner,
    Recall,
    RecallBox,
    Supplier,
    Terms,
    Unit,
)
from implants.operations.orders.making import Asked, make_orders
from implants.workbooks.catalogue import Catalogue
from scheduling.models import Alert, Loan
from scheduling.operations.loans.asking import Lent, begin_loan
from tests import factories
from tests.deploy import doors_in_theatre
from tests.deploy.table_of_doors import ANONYMOUS, PEOPLE, TABLE
from tests.factories import NOW
from tests.hospital import Hospital
from tests.proof.figures import Figures
from trays.models import CountLine, CountPhoto, Load, Machine, Pack, Tray

GTIN = "02999990000016"
CATALOGUE = Catalogue().spec.kind
METHODS = ("get", "head", "options", "put", "patch", "delete", "post")

STAY_OPEN = {
    "login",
    "admin_login",
    "logout",
    "lock",
    "locked",
    "switch",
    "health",
    "needed_next_wall",
}
"""What a locked session and one that only looks still need; and the wall, which nobody touches."""


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


def lent(tray: Tray, supplier: Supplier, by: Person) -> Loan:
    """A draft of one more tray of the kind."""
    wanted = Lent([tray.configuration])
    return begin_loan(supplier=supplier, lent=wanted, by=by, now=NOW)


def photographed(tray: Tray, by: Person) -> CountPhoto:
    """A photograph of the first line of a closed count."""
    closed = {"opened_at": NOW, "closed_at": NOW, "closed_by": by.user}
    count = tray.counts.create(version=tray.version, seq=tray.seq, **closed)
    instrument = factories.instrument(tray.site, "PHOTOGRAPHED")
    line = CountLine.objects.create(count=count, instrument=instrument, position=0, expected=1)
    return CountPhoto.objects.create(line=line, kind="image/png", content=b"x", at=NOW, by=by.user)


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
    photo = photographed(tray, coordinator)
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
    loan = lent(tray, order.supplier, coordinator)
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
        **{key: [loan.code] for key in ("loan", "loan_paper", "loan_check_in", "loan_box")},
        "loan_tray": [loan.code, loan.trays.get().pk],
        "act_on_loan": [loan.code, "call-off"],
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
        "tray_photo": [photo.pk],
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
        "act_on_loan": {"seq": loan.seq, "reason": "not wanted"},
        "recall_explain": {"box": recalled.pk, "note": "lost"},
        "scan": {"text": code},
        "scan_list": {"text": "U001", "version": number, "key": "one"},
        "api_what_if": hospital.scenario(),
        "api_scans": {"text": "U001", "version": number},
        "api_unit_quarantine": {"reason": "dropped", "seq": 1},
        "api_tray_hold": {"kind": "wet pack", "seq": 1},
    }

    def call(browser: Client, method: str, route: str) -> int:
        as_json = {"content_type": "application/json"} if is_api(VIEWS[route]) else {}
        sends = {"data": bodies.get(route, {}), **as_json} if method == "post" else {}
        address = reverse(route, args=args.get(route))
        headers = {"Idempotency-Key": "one"}
        return int(getattr(browser, method)(address, headers=headers, **sends).status_code)

    return call


@pytest.fixture
def logged_in(client_of: Any, request: pytest.FixtureRequest) -> dict[str, Client]:
    people = {who: client_of(request.getfixturevalue(who)) for who in PEOPLE}
    return {ANONYMOUS: Client(), **people}


def again(browser: Client) -> Client:
    """Another browser in the same session: what an answer does to cookies stays in this one."""
    other = Client()
    other.cookies.load({name: cookie.value for name, cookie in browser.cookies.items()})
    return other


@contextmanager
def undone() -> Iterator[None]:
    """What happens within is taken back: the hospital is built once for several routes."""
    here = transaction.savepoint()
    yield
    transaction.savepoint_rollback(here)


PART = 8
PARTS = [list(TABLE)[at : at + PART] for at in range(0, len(TABLE), PART)]


@pytest.mark.parametrize("routes", PARTS, ids="-".join)
def test_every_door(
    routes: list[str], call: Call, logged_in: dict[str, Client], figures: Figures
) -> None:
    coordinator = logged_in["coordinator"]
    for route in routes:
        with undone():
            browsers = {who: again(browser) for who, browser in logged_in.items()}
            who_may_do_what(route, call, browsers, figures)
        if door_of(VIEWS[route]) != OPEN:
            with undone():
                an_account_without_a_place_of_work_may_do_nothing(route, call)
        with undone():
            a_locked_session_may_do_nothing(route, call, again(coordinator))
        if route not in STAY_OPEN:
            with undone():
                a_session_that_only_looks_writes_nothing(route, call, again(coordinator))


def who_may_do_what(route: str, call: Call, browsers: dict[str, Client], figures: Figures) -> None:
    answered = {
        (route, method, who): call(browser, method, route)
        for who, browser in browsers.items()
        for method in METHODS
    }
    figures("Permission matrix", routes=1, answers=len(answered))
    assert answered == {
        (route, method, who): expected(route, method, who) for who in browsers for method in METHODS
    }


def an_account_without_a_place_of_work_may_do_nothing(route: str, call: Call) -> None:
    user = User.objects.create_user("nowhere")
    give_roles(user, ["implant coordinator"])
    browser = Client()
    browser.force_login(user)
    assert {call(browser, method, route) for method in METHODS} == {403}, route


def a_locked_session_may_do_nothing(route: str, call: Call, browser: Client) -> None:
    browser.post("/lock/")
    answers = {call(browser, method, route) for method in METHODS if method != "post"}
    if route not in STAY_OPEN:
        answers.add(call(browser, "post", route))
        assert answers == {401 if is_api(VIEWS[route]) else 302}, route
    assert browser.session["locked"], route


def a_session_that_only_looks_writes_nothing(route: str, call: Call, browser: Client) -> None:
    """What acting would do (2xx, 302) becomes the way to the PIN (302) or a refusal (403)."""
    session = browser.session
    session["looking"] = True
    session.save()
    asks = 403 if is_api(VIEWS[route]) else 302
    get = expected(route, "get", "coordinator")
    # Who may not enter at all is not asked for a PIN.
    led = is_for_acting(route) and get != 403
    assert call(browser, "get", route) == (asks if led else get), route
    if door_of(VIEWS[route]) != OPEN:
        shut = 403 if get == 403 else asks
        assert {call(browser, method, route) for method in METHODS[3:]} == {shut}, route
