from __future__ import annotations

import pytest
from django.urls import reverse

from tests import factories
from tests.factories import NOW
from trays.stages import Stage


@pytest.fixture
def tray(site, stranger):
    factories.tray(factories.configuration(stranger.site), "THEIRS/1")
    reamer = factories.instrument(site, diameter=12)
    handle = factories.instrument(site, "HANDLE", "reamer handle")
    version = factories.configuration(site, contents={reamer: 2, handle: 1})
    tray = factories.tray(version, location="R-01")
    tray.missing_lines.create(instrument=reamer)
    return tray


@pytest.fixture
def get(client_of, sterile_services):
    browser = client_of(sterile_services)
    return lambda route, **filters: browser.get(reverse(route), filters).json()["results"]


def test_the_instruments(get, tray):
    handle, reamer = get("api_instruments")
    assert handle["words"] == "reamer handle"
    assert reamer == {
        "ref": "REAM-12",
        "role": "reamer",
        "name": "",
        "attributes": {"diameter": 12},
        "words": "reamer, Ø 12 mm",
    }


def test_a_configuration_has_the_count_sheet_in_force(get, tray):
    assert get("api_configurations") == [
        {
            "code": "BASE",
            "name": "",
            "kind": "base",
            "turnaround_minutes": 360,
            "fast_track_minutes": 270,
            "count_sheet": {
                "number": 1,
                "contents": [{"ref": "REAM-12", "quantity": 2}, {"ref": "HANDLE", "quantity": 1}],
            },
        }
    ]
    tray.configuration.versions.create(number=2, made_at=NOW)
    assert get("api_configurations")[0]["count_sheet"] == {"number": 2, "contents": []}


def test_a_tray_with_its_stage_and_what_it_lacks(get, tray):
    assert get("api_trays") == [
        {
            "code": "BASE/1",
            "asset": "0299999BASE1",
            "configuration": "BASE",
            "version": 1,
            "stage": "sterile store",
            "seq": 1,
            "ready_at": "2027-03-01T07:00:00Z",
            "expected_at": None,
            "sterile_until": None,
            "location": "R-01",
            "owner": "owned",
            "note": "",
            "missing": [{"ref": "REAM-12", "quantity": 1}],
        }
    ]


def test_filters(get, tray):
    factories.tray(tray.version, "BASE/2", stage=Stage.QUARANTINE)
    assert [one["code"] for one in get("api_trays", stage="quarantine")] == ["BASE/2"]
    assert [one["code"] for one in get("api_trays", code="BASE/1")] == ["BASE/1"]
    assert get("api_trays", configuration="ADD") == []
    assert [one["ref"] for one in get("api_instruments", role="reamer")] == ["REAM-12"]
    assert get("api_configurations", kind="supplementary") == []


@pytest.mark.parametrize(
    ("route", "queries"), [("api_instruments", 4), ("api_configurations", 7), ("api_trays", 6)]
)
def test_lists_cost_a_fixed_number_of_queries(
    client_of, sterile_services, tray, django_assert_num_queries, route, queries
):
    for number in range(3):
        version = factories.configuration(
            tray.site, f"C{number}", {tray.version.contents.first().instrument: 1}
        )
        factories.tray(version, f"C{number}/1")
    browser = client_of(sterile_services)
    with django_assert_num_queries(queries):
        browser.get(reverse(route))
