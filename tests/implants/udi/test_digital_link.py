"""Links as we build them, and links as others break them."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Caution, Fault, ScanError, read_scan
from implants.udi.digital_link import asset_link, implant_link

TODAY = date(2026, 6, 1)
GTIN = "02345678901234"
STEM = "https://muster.example.org"


def refused(path: str) -> ScanError:
    with pytest.raises(ScanError) as caught:
        read_scan(STEM + path, today=TODAY)
    return caught.value


def test_scheme_and_host_are_in_capitals_and_the_rest_is_as_it_is() -> None:
    link = implant_link("https://muster.example.org:8443/in/use/", GTIN, lot="aB/1")
    assert link == f"HTTPS://MUSTER.EXAMPLE.ORG:8443/in/use/01/{GTIN}/10/aB%2F1"
    assert read_scan(link, today=TODAY).lot == "aB/1"
    assert asset_link(STEM, "BASE-2") == "HTTPS://MUSTER.EXAMPLE.ORG/8004/BASE-2"


def test_what_is_not_known_is_left_out() -> None:
    assert implant_link(STEM, GTIN) == f"HTTPS://MUSTER.EXAMPLE.ORG/01/{GTIN}"
    assert implant_link(STEM, GTIN, serial="S7").endswith(f"/01/{GTIN}/21/S7")
    assert implant_link(STEM, GTIN, expiry=date(2031, 1, 31)).endswith(f"/01/{GTIN}?17=310131")


@pytest.mark.parametrize(
    ("gtin", "lot", "code"),
    [
        ("", "A", Fault.EMPTY),
        ("2345678901234", "A", Fault.FORM),
        ("02345678901237", "A", Fault.CHECK_DIGIT),
        (GTIN, "A B", Fault.BAD_CHARACTER),
        (GTIN, "A" * 21, Fault.FORM),
        (GTIN, ".", Fault.LINK_DOTS),
        (GTIN, "..", Fault.LINK_DOTS),
    ],
)
def test_no_link_is_built_that_could_not_be_read(gtin: str, lot: str, code: Fault) -> None:
    with pytest.raises(ScanError) as caught:
        implant_link(STEM, gtin, lot)
    assert caught.value.code is code


@pytest.mark.parametrize(
    "address", ["", "muster.example.org", "ftp://a.example", "https://", "https://a.example?x=1"]
)
def test_no_link_begins_with_what_is_no_address(address: str) -> None:
    with pytest.raises(ScanError) as caught:
        asset_link(address, "BASE-2")
    assert caught.value.code is Fault.LINK_ADDRESS


@pytest.mark.parametrize(
    ("path", "code"),
    [
        (f"/01/{GTIN}/10", Fault.LINK_PATH),
        (f"/01/{GTIN}/10/", Fault.LINK_PATH),
        (f"/01/{GTIN}/10//21/S7", Fault.EMPTY),
        (f"/01/{GTIN}/21/S7/10/A", Fault.LINK_ORDER),
        (f"/01/{GTIN}/10/A/10/A", Fault.LINK_ORDER),
        (f"/01/{GTIN}/17/270630", Fault.LINK_ORDER),
        (f"/01/{GTIN}/10/A%2", Fault.LINK_ESCAPE),
        (f"/01/{GTIN}/10/A%FF", Fault.LINK_ESCAPE),
        (f"/01/{GTIN}/10/A\t1", Fault.LINK_ESCAPE),
        (f"/01/{GTIN}/10/A%201", Fault.BAD_CHARACTER),
        (f"/01/{GTIN}/10/A%1D1", Fault.BAD_CHARACTER),
        (f"/01/{GTIN}?17=270631", Fault.DATE),
        (f"/01/{GTIN}?17=270630&17=270629", Fault.STATED_TWICE),
        (f"/01/{GTIN}/10/A?10=B", Fault.STATED_TWICE),
        (f"/01/{GTIN}?37=2", Fault.EXCLUDED),
        (f"/01/{GTIN}?1=2", Fault.UNKNOWN_AI),
        ("/8004/BASE-2?17=270630", Fault.NEEDS_ITEM),
        ("/01/02345678901237", Fault.CHECK_DIGIT),
    ],
)
def test_broken_links_are_refused(path: str, code: Fault) -> None:
    assert refused(path).code is code


def test_names_that_are_not_identifiers_are_passed_over() -> None:
    link = f"{STEM}/01/{GTIN}/?linkType=all&17=270630&s=#top"
    assert read_scan(link, today=TODAY).ai == {"01": GTIN, "17": "270630"}


def test_a_plus_in_an_attribute_is_a_plus() -> None:
    assert read_scan(f"{STEM}/01/{GTIN}?99=A+B", today=TODAY).ai["99"] == "A+B"


def test_an_unknown_attribute_is_pointed_out() -> None:
    result = read_scan(f"{STEM}/01/{GTIN}?7999=A", today=TODAY)
    assert [warning.code for warning in result.warnings] == [Caution.UNKNOWN_AI]
