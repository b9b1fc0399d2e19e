"""Where each page stands: the entries of the navigation, the sections of each, the pages beneath.

An entry shows to whoever its page is open to: the door is the view's own (`deploy/kit/doors.py`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import resolve, reverse

from deploy.kit.doors import door_of, may_enter


@dataclass(frozen=True, slots=True)
class Entry:
    """A page that is always at hand.

    `beneath`: the routes that are reached through it.  `sections`: the pages that it has beside
    its own, which is the first of them.  `instead_of`: the entry without which it shows.  `only`:
    a permission that it takes beside its page's door.
    """

    route: str
    label: str
    beneath: tuple[str, ...] = ()
    sections: tuple[Entry, ...] = ()
    instead_of: str = ""
    only: str = ""

    def routes(self) -> Iterator[str]:
        """Of the page itself and of all that is reached through it."""
        yield from (self.route, *self.beneath)
        for section in self.sections:
            yield from section.routes()

    def is_open_to(self, user: Any) -> bool:
        door = door_of(resolve(reverse(self.route)).func)
        return (
            door is not None
            and may_enter(user, door)
            and (not self.only or user.has_perm(self.only))
        )


CASE = (
    *("case", "plan", "plan_preview", "plan_versions", "book", "move", "move_preview", "cancel"),
    *("decide", "in_house", "implant_record", "pick_list_for_case"),
    *("pick_list_version", "pick_list_print"),
)
OF_A_SURGEON = (*CASE, "case_history", "windows", "calendar")
RECALLS = Entry("recalls", "Recalls", ("recall", "recall_print", "recall_retrieve", "recall_close"))
LABELS = ("box_label", "place_labels")
COUNTS = ("count", "count_scan", "count_differences", "count_print", "open_differences")

ENTRIES = (
    Entry(
        "needed_next",
        "Needed next",
        sections=(
            Entry("needed_next", "Trays", ("tray_at_bench",)),
            Entry("which_first", "Which first", ("stage_times",)),
            Entry("handover", "Handover"),
            Entry("loads", "Loads", ("load", "load_trace")),
            Entry("machines", "Machines"),
            Entry("needed_next_wall", "For the wall"),
        ),
    ),
    Entry("bench", "Bench", ("bench_station", "instruments", "pack_tray", "count_tray")),
    Entry(
        "to_order",
        "To order",
        sections=(
            Entry("to_order", "List of today", ("make_orders", "note_gap", "settle_use")),
            Entry("orders", "Orders", ("order", "act_on_order", "settle_credit")),
            Entry(
                "loans",
                "Loans",
                (
                    *("loan", "begin_loan", "act_on_loan", "loan_paper"),
                    *("loan_check_in", "loan_box", "loan_tray"),
                ),
            ),
            Entry("par_levels", "Par levels", ("accept_par",)),
            Entry("size_risk", "Size risk", ("accept_size_risk",)),
        ),
    ),
    Entry(
        "cases",
        "All booked cases",
        sections=(Entry("cases", "Booked", CASE), Entry("used", "Used and wasted")),
    ),
    Entry("your_cases", "Your booked cases", OF_A_SURGEON, instead_of="cases"),
    Entry("today", "Days", ("day", "meeting", "pick_list_for_day")),
    Entry(
        "notices",
        "Told you",
        sections=(Entry("notices", "About your cases"), Entry("alerts", "Alerts")),
    ),
    Entry(
        "shelf",
        "Shelf",
        sections=(
            Entry("shelf", "By line and size", ("shelf_item", "place")),
            Entry("use_by", "By use-by date", ("send_back", "taken_unscanned")),
        ),
    ),
    Entry(
        "receive",
        "Receive",
        sections=(
            Entry("receive", "Receive", ("receive_decide", "unknown_boxes", *LABELS)),
            Entry("counts", "Counts", COUNTS),
            RECALLS,
        ),
    ),
    Entry(
        "recalls",
        "Recalls",
        RECALLS.beneath,
        instead_of="receive",
        only="implants.read_recipients",
    ),
    Entry("scan", "Scan", ("scan_list",)),
    Entry("workbooks", "Workbooks", ("workbook_send", "import_draft")),
    Entry("theatre", "In theatre", ("in_theatre", "theatre_open", "theatre_record", "outside")),
    Entry("trace", "Trace", ("case_history",)),
)


A_PHONE_TAKES = 4
"""So many entries stand on a phone's screen and leave the page its room."""


def navigation(request: HttpRequest) -> dict[str, Any]:
    """`navigation`: the `entries` of this person, and the `sections` of the one that the page is
    reached through, each with its `aria-current`; `is_long`: a phone folds it.  Empty before
    log-in.  No query of its own."""
    if getattr(request, "person", None) is None:
        return {"navigation": {"entries": [], "sections": [], "is_long": False}}
    shown = _shown(ENTRIES, request)
    sections = next((each["entry"].sections for each in shown if each["current"]), ())
    return {
        "navigation": {
            "entries": shown,
            "sections": _shown(sections, request),
            "is_long": len(shown) > A_PHONE_TAKES,
        }
    }


def _shown(entries: Sequence[Entry], request: HttpRequest) -> list[dict[str, Any]]:
    """Those that are open to the person."""
    match = request.resolver_match
    here = match.view_name if match else ""
    open_ones = [entry for entry in entries if entry.is_open_to(request.user)]
    routes = {entry.route for entry in open_ones}
    return [
        {
            "entry": entry,
            "url": reverse(entry.route),
            "current": "page" if here == entry.route else "true" if here in entry.routes() else "",
        }
        for entry in open_ones
        if entry.instead_of not in routes
    ]
