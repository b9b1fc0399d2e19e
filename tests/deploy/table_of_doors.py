"""The table of doors: every route × method × person, pages and API, as data."""

from __future__ import annotations

from tests.deploy import doors_in_theatre

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
    "instruments": {"get": each("sterile_services"), "post": each("sterile_services", say=302)},
    # What is refused for what was typed stands there again, with all of it: no redirect.
    "pack_tray": {"get": each("sterile_services"), "post": each("sterile_services")},
    "count_tray": {"get": each("sterile_services"), "post": each("sterile_services", say=302)},
    "tray_at_bench": {
        "get": ONE_ITEM,
        "post": OF_STERILE_SERVICES | READ_ONLY_SURGEONS | {"theatre_team": 200, "stranger": 404},
    },
    "tray_photo": {"get": ONE_ITEM},
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
    "load_trace": {
        "get": each(*READERS, stranger=404),
        "post": OF_STERILE_SERVICES | {"stranger": 404},
    },
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
    "size_risk": {"get": COORDINATORS},
    "accept_size_risk": {"post": each("coordinator", "stranger", say=302)},
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
    "loans": {"get": ALL_CASES},
    "loan": {"get": each(*READERS, stranger=404)},
    "loan_paper": {"get": each(*READERS, stranger=404)},
    "begin_loan": {"post": COORDINATORS_ON},
    "act_on_loan": {"post": COORDINATOR_ONLY},
    "loan_check_in": {
        "get": each("coordinator", "sterile_services", stranger=404),
        "post": each("coordinator", "sterile_services", say=302, stranger=404),
    },
    "loan_box": {"post": COORDINATOR_ONLY},
    "loan_tray": {
        "get": each("coordinator", "sterile_services", stranger=404),
        "post": each("coordinator", "sterile_services", stranger=404),
    },
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
