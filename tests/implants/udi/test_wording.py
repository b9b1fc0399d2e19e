"""Every fault and caution has its words, and words name the values."""

from __future__ import annotations

from datetime import date

import pytest

from implants.udi import Caution, Fault, ScanError, ScanWarning, read_scan, say
from implants.udi.wording import CAUTIONS, FAULTS

TODAY = date(2026, 6, 1)
ITEM = "(01)02345678901234"


def test_nothing_is_without_words() -> None:
    assert set(FAULTS) == set(Fault)
    assert set(CAUTIONS) == set(Caution)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (" ", "Nothing was scanned."),
        ("TRAY-2", "“TRAY-2” is not a code that can be read here."),
        (
            "=A99971312345600",
            "This is ISBT 128, which is not read yet. "
            "Scan the label's GS1 code, or type REF and LOT.",
        ),
        (
            "(01)02345678901237",
            "The item number (GTIN) 02345678901237 is wrong: its check digit should be 4. "
            "Scan again; do not correct it by hand.",
        ),
        (
            "(17)270630(10)A",
            "This code holds the lot A but no item number. "
            "Scan the label's other code, the one that begins with (01).",
        ),
        (
            "+A999ABC123DE1/$+1234567Y",
            "The HIBC code +A999ABC123DE1/$+1234567Y is wrong: its check character should be “Z”. "
            "Scan again; do not correct it by hand.",
        ),
        (
            "+$LOT1G%",
            "This code holds the lot LOT1 but no item. Scan the label's other code, the item's.",
        ),
        (f"{ITEM}(17)270631", "The use-by date 270631 is no date."),
        (
            f"{ITEM}(37)2",
            "The code holds the item number (GTIN) and the count, which do not go together: "
            "it is the label of a larger pack. Scan the box itself.",
        ),
        (f"{ITEM}(400)A(400)B", "The code states two values for the value of (400): A and B."),
        (
            f"{ITEM}(17)2706",
            "The use-by date 2706 is not of its form (N6): too short, too long, or not "
            "the right characters. Scan again.",
        ),
    ],
)
def test_refusals_in_words(text: str, words: str) -> None:
    with pytest.raises(ScanError) as refused:
        read_scan(text, today=TODAY)
    assert say(refused.value) == words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            f"{ITEM}(17)270600",
            "The use-by date states no day: read as 2027-06-30, the last of the month.",
        ),
        (
            f"{ITEM}(10)AB117270630",
            "The lot AB117270630 ends in “17270630”, which looks like the next "
            "part of the code: the scanner may lose separators. Compare with the label.",
        ),
        (f"{ITEM}(29)X", "The code also holds (29) X, which is not known here."),
    ],
)
def test_cautions_in_words(text: str, words: str) -> None:
    assert [say(warning) for warning in read_scan(text, today=TODAY).warnings] == [words]


def test_braces_of_a_scan_are_not_taken_for_places() -> None:
    assert say(ScanError(Fault.NOT_A_CODE, text="{name}")) == (
        "“{name}” is not a code that can be read here."
    )
    assert say(ScanWarning(Caution.LOWER_CASE, {"value": "{text}"})).startswith("“{text}” came")
