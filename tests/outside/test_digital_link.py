"""GS1 Digital Link against published examples (GS1 Syntax Engine, text seen; biip 5.2.0)."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Fault, Kind, ScanError, read_scan
from implants.udi.digital_link import asset_link, implant_link

TODAY = date(2026, 6, 1)
STEM = "https://id.example.org"


# GS1 Syntax Engine (text seen, and computed with biip 5.2.0); the third and the last: computed.
PUBLISHED = [
    (
        "(01)12312312312326(22)ABC(10)DEF(21)GHI",
        "/01/12312312312326/22/ABC/10/DEF/21/GHI",
    ),
    (
        "(01)12312312312333(10)ABC+123(99)XYZ+QWERTY",
        "/01/12312312312333/10/ABC%2B123?99=XYZ%2BQWERTY",
    ),
    (
        "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234",
        "/01/51022222233336/10/A213B1/21/1234?11=141231&17=150707",
    ),
    ("(8004)9520614141234567", "/8004/9520614141234567"),
    ("(8003)02112345678900ABC", "/8003/02112345678900ABC"),
]


@pytest.mark.parametrize(("bracketed", "path"), PUBLISHED)
def test_a_link_says_the_same_as_its_element_string(bracketed: str, path: str) -> None:
    link = read_scan(STEM + path, today=TODAY)
    string = read_scan(bracketed, today=TODAY)
    assert link.kind is Kind.DIGITAL_LINK
    assert link.ai == string.ai
    assert (link.gtin, link.lot, link.serial) == (string.gtin, string.lot, string.serial)
    assert (link.expiry, link.made) == (string.expiry, string.made)
    assert (link.giai, link.grai) == (string.giai, string.grai)


# The published paths, as far as our own links have such parts.
def test_links_are_built_as_published() -> None:
    built = implant_link(STEM, "12312312312333", lot="ABC+123")
    assert built == "HTTPS://ID.EXAMPLE.ORG/01/12312312312333/10/ABC%2B123"
    built = implant_link(STEM, "51022222233336", "A213B1", "1234", date(2015, 7, 7))
    assert built == "HTTPS://ID.EXAMPLE.ORG/01/51022222233336/10/A213B1/21/1234?17=150707"
    assert asset_link(STEM, "9520614141234567") == ("HTTPS://ID.EXAMPLE.ORG/8004/9520614141234567")


# GS1 Syntax Engine (text seen): refused.  The number before the qualifiers is that of its other
# examples.
@pytest.mark.parametrize(
    ("path", "code"),
    [
        ("/01/12312312312326/10/ABC/22/X", Fault.LINK_ORDER),
        ("/01/2112345678900", Fault.FORM),
    ],
)
def test_published_faults_are_refused(path: str, code: Fault) -> None:
    with pytest.raises(ScanError) as refused:
        read_scan(STEM + path, today=TODAY)
    assert refused.value.code is code


# GS1 Syntax Engine (text seen): any stem before the key is allowed.
@pytest.mark.parametrize("stem", ["", "/a", "/some/stem", "/8004/shelf", "/01"])
def test_any_stem_may_stand_before_the_key(stem: str) -> None:
    result = read_scan(f"{STEM}{stem}/01/12312312312326/21/GHI", today=TODAY)
    assert (result.gtin, result.serial) == ("12312312312326", "GHI")


# GS1 Syntax Engine, Digital Link (text seen): lots and serials are case sensitive.
def test_case_counts_in_the_path_alone() -> None:
    result = read_scan("HTTPS://ID.EXAMPLE.ORG/01/12312312312326/10/aBc/21/GhI", today=TODAY)
    assert (result.lot, result.serial) == ("aBc", "GhI")
