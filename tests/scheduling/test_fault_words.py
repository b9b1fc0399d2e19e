"""What can be mended first stands first, and what only follows does not blame the catalogue."""

from __future__ import annotations

from scheduling.fault_words import faults_in_words


def test_the_component_that_is_no_item_stands_before_what_is_then_sought_in_vain() -> None:
    found = (
        "broach_handle: technique asks for one, catalogue holds none",
        "head and stem tapers differ",
        "liner: ambiguous",
        "stem: not in catalogue",
    )
    assert faults_in_words(found) == (
        "liner: several of the catalogue are as planned; say which",
        "stem: none of the catalogue is as planned",
        "head and stem tapers differ",
        "broach handle: the technique asks for one and finds none for this plan",
    )


def test_a_check_says_what_the_house_calls_it() -> None:
    assert faults_in_words(("cup: too deep", "nothing is asked for")) == (
        "cup: too deep",
        "nothing is asked for",
    )
