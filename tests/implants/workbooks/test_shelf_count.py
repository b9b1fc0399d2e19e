"""A running count as a workbook: its list out, and in with what was found."""

from __future__ import annotations

from datetime import date

import pytest

from deploy.kit.imports.importing import export_workbook, import_workbook, propose
from deploy.kit.workbooks.writing import write_workbook
from implants.models import Count
from implants.operations.counts import close_count, open_count, scan_at_count
from implants.workbooks.shelf_count import SHEET, ShelfCount
from tests import factories
from tests.factories import NOW
from tests.implants.labels import stem

KIND = ShelfCount()
PLACE, OTHER = "Store A-01", "Store A-02"


@pytest.fixture
def count(site, coordinator):
    """Two boxes on the list of Store A-01; a third lies on Store A-02."""
    implant = stem(site)
    for number in (1, 2):
        factories.unit(implant, f"U{number}", lot=f"L{number}", location=PLACE)
    factories.unit(implant, "U3", lot="L3", location=OTHER)
    return open_count(places=[PLACE], is_blind=False, by=coordinator, now=NOW)


def row(count, box, *, place=PLACE, **more):
    return {"Count": count.pk, "Place": place, "Box": box, **more}


def proposed(site, *rows):
    return propose(KIND, write_workbook(KIND.spec, {SHEET: rows}), site=site, now=NOW)


def outcomes(proposal):
    return [(one.what, str(one.outcome)) for one in proposal.comparison.rows]


def written(site, by, *rows):
    done = import_workbook(proposed(site, *rows), by=by, now=NOW)
    assert done.ok
    return done


def test_the_list_goes_out_with_what_its_labels_say(site, count):
    assert [dict(one) for one in KIND.rows(site)[SHEET]] == [
        {
            "Count": count.pk,
            "Place": PLACE,
            "Box": f"U{number}",
            "REF": "STEM-12",
            "LOT": f"L{number}",
            "Serial": "",
            "Use by": date(2031, 12, 31),
            "Counted": None,
        }
        for number in (1, 2)
    ]


def test_what_was_ticked_is_counted_and_the_rest_is_a_difference(site, count, coordinator):
    rows = [row(count, "U1", Counted=True), row(count, "U2")]
    assert outcomes(proposed(site, *rows)) == [
        (f"box U1 at {PLACE}", "changed"),
        (f"box U2 at {PLACE}", "same"),
    ]
    written(site, coordinator, *rows)
    line = count.lines.get(unit__code="U1")
    assert (line.is_counted, line.counted_by) == (True, coordinator.user)
    assert [one.unit.code for one in count.lines.all() if one.is_difference] == ["U2"]


def test_a_box_that_was_found_there_belongs_elsewhere(site, count, coordinator):
    written(site, coordinator, row(count, "U3", Counted=True))
    line = count.lines.get(unit__code="U3")
    assert (line.found, line.place) == ("belongs elsewhere", PLACE)


def test_an_older_list_takes_nothing_back(site, count, coordinator):
    older = export_workbook(KIND, site)
    scan_at_count(count=count, text="U1", by=coordinator, now=NOW)
    proposal = propose(KIND, older, site=site, now=NOW)
    assert [str(one.outcome) for one in proposal.comparison.rows] == ["same", "same"]
    import_workbook(proposal, by=coordinator, now=NOW)
    assert count.lines.get(unit__code="U1").is_counted


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"box": "U9", "Counted": True}, "Box: the house has no U9"),
        ({"box": "U3"}, "Box: not on the list of this count"),
        ({"box": "U1", "LOT": "L9"}, "LOT: the house has L1 for box U1"),
        ({"box": "U1", "place": OTHER, "Counted": True}, "Place: not one of count"),
    ],
)
def test_a_row_that_cannot_be_is_refused_with_its_reason(site, count, said, why):
    proposal = proposed(site, row(count, **said))
    (judged,) = proposal.comparison.rows
    assert not proposal.ok
    assert judged.reasons[0].startswith(why)


def test_blind_and_closed_counts_take_no_list(site, count, coordinator):
    close_count(count=count, explanations={}, by=coordinator, now=NOW)
    assert "no count" in proposed(site, row(count, "U1")).comparison.rows[0].reasons[0]
    blind = open_count(places=[PLACE], is_blind=True, by=coordinator, now=NOW)
    assert list(KIND.rows(site)[SHEET]) == []
    refused = proposed(site, row(blind, "U1", Counted=True)).comparison.rows[0]
    assert refused.reasons == (f"Count: {blind.pk} is blind. Its boxes are scanned.",)
    assert Count.objects.filter(closed_at=None).count() == 1


def test_more_rows_take_no_more_queries(site, count, django_assert_num_queries):
    sheets = proposed(site, row(count, "U1"), row(count, "U2", Counted=True)).reading.sheets
    with django_assert_num_queries(3):
        KIND.compare(sheets, site=site, now=NOW)
