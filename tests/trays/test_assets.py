"""Asset identifiers for trays whose tag gives none."""

from __future__ import annotations

from trays.assets import assets_of


def test_an_asset_identifier_is_the_trays_code_where_gs1_allows_it() -> None:
    """Character set 82 and 30 characters: GS1 General Specifications, GIAI (8004)."""
    long = "A" * 23
    assert assets_of("0299999", ["BASE/1", "BASE 2", "SP#1", long, long + "A", "1"]) == {
        "BASE/1": "0299999BASE/1",
        long: "0299999" + long,
        "1": "02999991",
        # numbered, in order of code, past the number that is taken
        long + "A": "02999992",
        "BASE 2": "02999993",
        "SP#1": "02999994",
    }


def test_an_identifier_of_another_tray_is_skipped() -> None:
    assert assets_of("0299999", ["BASE/1", "x y"], taken=["0299999BASE/1", "02999991"]) == {
        "BASE/1": "02999992",
        "x y": "02999993",
    }
