from __future__ import annotations

import pytest

from implants.recalls.notice import read_notice
from tests import factories


@pytest.fixture
def catalogue(site):
    return {ref: factories.implant(site, ref) for ref in ("SC64", "NA-15", "AB 1", "AB 1 L")}


def read(text, site):
    notice = read_notice(text, site)
    return [(one.implant.ref, one.lot, one.serial) for one in notice.named], list(notice.faults)


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("SC64 R550172", [("SC64", "R550172", "")]),
        ("sc64 R1, r2;R3", [("SC64", "R1", ""), ("SC64", "r2", ""), ("SC64", "R3", "")]),
        ("REF SC64, LOT R1\n\n NA-15  SN 7 8\n", [
            ("SC64", "R1", ""), ("NA-15", "", "7"), ("NA-15", "", "8"),
        ]),
        ("SC64", [("SC64", "", "")]),
        ("AB 1 L9\nAB 1 L 9", [("AB 1", "L9", ""), ("AB 1 L", "9", "")]),
        ("SC64 R1\nSC64 r1", [("SC64", "r1", "")]),
    ],
)  # fmt: skip
def test_what_is_named(catalogue, site, text, named, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert read(text, site) == (named, [])


def test_all_faults_at_once_and_nothing_named(catalogue, site):
    named, faults = read(f"SC64 R1\nSC46 R1\n? x\nSC64 {'L' * 41}", site)
    assert named == []
    assert faults == [
        "line 2: “SC46 R1” does not begin with a REF of the catalogue",
        "line 3: “? x” does not begin with a REF of the catalogue",
        "line 4: a LOT or serial has 40 characters at most",
    ]


def test_nothing_is_a_fault(catalogue, site):
    assert read("\n \n", site) == ([], ["name at least one REF, and its lots or serials"])


def test_another_sites_catalogue_is_not_ours(catalogue, stranger):
    assert read("SC64 R1", stranger.site)[0] == []
