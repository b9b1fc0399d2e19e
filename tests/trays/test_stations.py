from __future__ import annotations

import pytest

from trays.stages import Stage
from trays.stations import STATIONS, may_follow_in_words, station_scanned


@pytest.mark.parametrize("slug", STATIONS)
def test_a_stations_code_is_the_address_of_its_page(slug: str) -> None:
    assert station_scanned(f"HTTPS://HOUSE.EXAMPLE/bench/{slug}/") is STATIONS[slug]
    assert station_scanned(f"https://house.example/muster/bench/{slug}") is STATIONS[slug]


@pytest.mark.parametrize("text", ["", "cleaning", "https://house.example/bench/nowhere/"])
def test_other_texts_are_no_station(text: str) -> None:
    assert station_scanned(text) is None


def test_theatre_stations_ask_for_theatres_permission() -> None:
    theatres = {slug for slug, one in STATIONS.items() if one.permission == "trays.return_trays"}
    assert theatres == {"returned", "theatre"}


def test_what_may_follow_leaves_the_holds_out() -> None:
    assert may_follow_in_words(Stage.CLEANING) == "cleaning, inspection and assembly"
    assert may_follow_in_words(Stage.STERILE_STORE) == "inspection and assembly, issued"
