"""Count sheets and trays as workbooks, on both databases."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from deploy.kit.imports.importing import Proposal, import_workbook, propose
from deploy.kit.imports.kind import ImportKind
from deploy.kit.imports.results import Outcome
from deploy.kit.models import Person, Site
from deploy.kit.workbooks.values import Value
from deploy.kit.workbooks.writing import write_workbook
from tests import factories
from trays.models import Configuration, MissingLine, Tray
from trays.operations.count_sheets import contents_of
from trays.stages import Stage
from trays.workbooks.count_sheets import CountSheets
from trays.workbooks.trays import Trays

Rows = Sequence[Mapping[str, Value | None]]
READY = datetime(2027, 3, 1, 6, 0)  # noqa: DTZ001  as typed
INSTRUMENTS = [{"REF": "R-12", "Role": "reamer", "Size": 12}, {"REF": "R-13", "Role": "reamer"}]
BASE = {"Configuration": "BASE", "Kind": "base", "Turnaround minutes": 360}
LINES = [
    {"Configuration": "BASE", "REF": "R-12"},
    {"Configuration": "BASE", "REF": "R-13", "Quantity": 2},
]
TRAY = {"Tray": "BASE/1", "Configuration": "BASE", "Stage": "sterile store", "Ready": READY}


def proposed(kind: ImportKind, site: Site, **sheets: Rows) -> Proposal:
    rows: dict[str, Any] = {name.replace("_", " "): rows for name, rows in sheets.items()}
    return propose(kind, write_workbook(kind.spec, rows), site=site, now=factories.NOW)


def sheets(site: Site, *, lines: Rows = LINES) -> Proposal:
    return proposed(
        CountSheets(), site, Instruments=INSTRUMENTS, Configurations=[BASE], Count_sheets=lines
    )


def trays(site: Site, *rows: Mapping[str, Value | None], missing: Rows = ()) -> Proposal:
    return proposed(Trays(), site, Trays=rows, Missing=missing)


def written(proposal: Proposal, by: Person) -> Proposal:
    done = import_workbook(proposal, by=by, now=factories.NOW)
    assert done.ok, done.comparison.reasons()
    return done


def reasons(proposal: Proposal) -> list[str]:
    return [reason for row in proposal.comparison.rows for reason in row.reasons]


def test_a_count_sheet_is_issued_in_tray_order(site: Site, coordinator: Person) -> None:
    written(sheets(site), coordinator)
    (version,) = Configuration.objects.get().versions.all()
    assert contents_of(version) == [("R-12", 1), ("R-13", 2)]
    assert version.made_by == coordinator.user


def test_another_content_is_the_next_version_and_the_first_is_kept(
    site: Site, coordinator: Person
) -> None:
    written(sheets(site), coordinator)
    after = sheets(site, lines=[LINES[1]])
    assert [
        (one.column, one.before, one.after)
        for row in after.comparison.rows
        for one in row.differences
    ] == [("Count sheet", "with R-12", "without")]
    written(after, coordinator)
    second, first = Configuration.objects.get().versions.order_by("-number")
    assert (contents_of(first), contents_of(second)) == (
        [("R-12", 1), ("R-13", 2)],
        [("R-13", 2)],
    )


def test_another_order_is_a_change(site: Site, coordinator: Person) -> None:
    written(sheets(site), coordinator)
    changed = sheets(site, lines=LINES[::-1])
    assert [row.outcome for row in changed.comparison.rows][-2:] == [Outcome.CHANGED] * 2


def test_what_a_count_sheet_refuses(site: Site) -> None:
    proposal = proposed(
        CountSheets(),
        site,
        Instruments=INSTRUMENTS,
        Configurations=[{**BASE, "Turnaround minutes": 0, "Fast track minutes": 9}],
        Count_sheets=[{"Configuration": "ADD", "REF": "R-99", "Quantity": 0}],
    )
    assert reasons(proposal) == [
        "Turnaround minutes: 1 or more.",
        "Fast track minutes: 1 or more, and not more than the turnaround.",
        "Configuration: there is no ADD. Add it to the sheet Configurations.",
        "REF: there is no instrument R-99. Add it to the sheet Instruments.",
        "Quantity: 1 or more.",
    ]


def test_a_new_tray_enters_at_its_stage(site: Site, coordinator: Person) -> None:
    written(sheets(site), coordinator)
    missing = [{"Tray": "BASE/1", "REF": "R-13"}]
    written(trays(site, TRAY, missing=missing), coordinator)
    tray = Tray.objects.get()
    assert (tray.stage, tray.seq, tray.asset) == (Stage.STERILE_STORE, 1, "0299999BASE/1")
    assert MissingLine.objects.get().quantity == 1
    again = trays(site, TRAY, missing=missing)
    assert {row.outcome for row in again.comparison.rows} == {Outcome.SAME}


def test_nothing_is_ready_by_silence(site: Site, coordinator: Person) -> None:
    written(sheets(site), coordinator)
    assert reasons(trays(site, {**TRAY, "Stage": None})) == [
        "Stage: say where the new tray is in its cycle."
    ]
    assert reasons(trays(site, {**TRAY, "Ready": None})) == [
        "Ready: a tray in stage “sterile store” has a time: when it is sterile and released."
    ]


def test_a_tray_that_is_here_moves_by_scan_alone(site: Site, coordinator: Person) -> None:
    written(sheets(site), coordinator)
    written(trays(site, TRAY), coordinator)
    changed = trays(site, {**TRAY, "Stage": "quarantine", "Ready": None, "Place": "R-02"})
    assert [one.column for one in changed.comparison.rows[0].differences] == ["Place"]
    written(changed, coordinator)
    tray = Tray.objects.get()
    assert (tray.stage, tray.location, tray.seq) == (Stage.STERILE_STORE, "R-02", 1)


def test_a_row_that_does_not_fit_refuses_nothing_that_refers_to_it(site: Site) -> None:
    proposal = proposed(
        CountSheets(),
        site,
        Instruments=INSTRUMENTS,
        Configurations=[{**BASE, "Turnaround minutes": None}],
        Count_sheets=LINES,
    )
    assert reasons(proposal) == ["Turnaround minutes: is empty, and must not be. Fill it in."]


def test_what_a_trays_workbook_refuses(site: Site, coordinator: Person, stranger: Person) -> None:
    written(sheets(site), coordinator)
    written(trays(site, TRAY), coordinator)
    factories.tray(factories.configuration(stranger.site), "X/1")
    taken = Tray.objects.get(site=stranger.site).asset
    proposal = trays(
        site,
        {**TRAY, "Configuration": "ADD"},
        {**TRAY, "Tray": "BASE/2", "Asset": taken},
        {**TRAY, "Tray": "BASE/3", "Stage": "quarantine"},
        missing=[{"Tray": "NONE", "REF": "R-99", "Quantity": 0}],
    )
    assert reasons(proposal) == [
        "Configuration: there is no ADD. Import the count sheets first.",
        "Configuration: BASE/1 is a BASE. A tray keeps its kind; enter another tray.",
        f"Asset: {taken} is the tag of another tray. Read this tray's own tag.",
        "Ready: a tray in stage “quarantine” has none.",
        "Tray: there is no NONE.",
        "REF: there is no instrument R-99.",
        "Quantity: 1 or more. A tray that is complete has no row.",
    ]
