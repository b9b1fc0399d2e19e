"""The prints: an independent reader reads the code, and nothing that lacks is left out."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pypdfium2
import pytest
import zxingcpp

from scheduling.pick_lists.paper import Paper
from scheduling.sterile.prints.label import Label, label_pdf
from scheduling.sterile.prints.sheet import Part, Sheet, sheet_pdf

AT = datetime(2027, 3, 1, 7, 5)  # noqa: DTZ001 a local moment, as the prints take it
LINK = "HTTPS://HOUSE.EXAMPLE/8004/0299999BASE1"


def label(**values: Any) -> Label:
    said: dict[str, Any] = {
        "tray": "ADD-A/1",
        "configuration": "Line A revision add-on set",
        "pack": 3,
        "link": LINK,
        "asset": "0299999BASE1",
        "packed_at": AT,
        "packed_by": "Technician One",
        "sheet": 2,
    }
    return Label(**said | values)


def pages(file: bytes) -> Any:
    return pypdfium2.PdfDocument(file)


def text_of(file: bytes) -> str:
    return " ".join(
        page.get_textpage().get_text_range().replace("\r\n", " ") for page in pages(file)
    )


def codes_of(file: bytes, number: int = 0) -> list[str]:
    picture = pages(file)[number].render(scale=300 / 72).to_pil()
    return [found.text for found in zxingcpp.read_barcodes(picture)]


def test_the_label_is_100_by_50_mm_and_its_code_is_read() -> None:
    file = label_pdf(label())
    width, height = pages(file)[0].get_size()
    assert (round(width * 25.4 / 72), round(height * 25.4 / 72)) == (100, 50)
    assert codes_of(file) == [LINK]
    said = text_of(file)
    for part in ("ADD-A/1", "Line A revision add-on set", "Pack 3", "0299999BASE1", "COMPLETE"):
        assert part in said


def test_the_label_says_what_lacks_and_that_it_is_heavy() -> None:
    said = text_of(
        label_pdf(
            label(
                shortages=("1 × reamer, Ø 14 mm (NA-R14)",),
                warning="11.90 kg, over the limit of 11.34 kg",
                weight="11.90 kg",
            )
        )
    )
    assert "LACKS 1 × reamer, Ø 14 mm (NA-R14)" in said
    assert "HEAVY: 11.90 kg, over the limit of 11.34 kg" in said
    assert "COMPLETE" not in said


@pytest.mark.parametrize("number", [3, 6, 40])
def test_what_does_not_fit_is_counted_and_never_cut_in_silence(number: int) -> None:
    lacks = tuple(f"1 × reamer, Ø {n} mm, long and left (NA-R{n:02})" for n in range(number))
    said = text_of(label_pdf(label(shortages=lacks)))
    all_there = all(f"(NA-R{n:02})" in said for n in range(number))
    assert all_there or f"{number} lines in all: see the count sheet" in said


def sheet(rows: int, **values: Any) -> Sheet:
    part = Part(
        "Lines in tray order",
        (("Instrument", 0.6), ("REF", 0.4)),
        tuple((f"{n}. reamer, Ø {n} mm", f"NA-R{n:02}") for n in range(rows)),
        ticks=("before", "after"),
    )
    return Sheet(
        **{
            "title": "Count sheet ADD-A/1",
            "site": "Ottermere General",
            "as_of": AT,
            "link": LINK,
            "parts": (part,),
            "signatures": ("Counted by",),
        }
        | values
    )


@pytest.mark.parametrize("paper", list(Paper))
def test_every_page_of_a_sheet_stands_alone(paper: Paper) -> None:
    file = sheet_pdf(sheet(60), paper)
    number = len(pages(file))
    assert number == 3
    for page in range(number):
        assert codes_of(file, page) == [LINK]
        said = pages(file)[page].get_textpage().get_text_range()
        assert f"Page {page + 1} of {number}" in said
        assert "Count sheet ADD-A/1" in said
        assert "Printed Mon 1 Mar" in said
    said = text_of(file)
    assert all(f"NA-R{n:02}" in said for n in range(60))
    assert said.count("before") == number
    assert said.count("Counted by") == 1


def test_an_invented_clock_is_told_and_an_empty_part_says_so() -> None:
    said = text_of(sheet_pdf(sheet(0, clock_is_real=False)))
    assert "Not the real time" in said
    assert "None." in said
